"""What `oakpanel stock` answers as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from panel.words.review_words import action_words, reason_words, warehouse_words

if TYPE_CHECKING:
    from panel.questions.review.review import Review, ReviewLine, TickLine, WarehouseReview


@dataclass(frozen=True)
class WhereTold:
    """Where somebody has to go."""

    site: str | None
    warehouse: str | None
    row: str | None
    tier: str | None


@dataclass(frozen=True)
class LineTold:
    """One thing to do; `casks` stand in walking order, `walk` is the line's place on the way."""

    cask: str
    casks: tuple[str, ...]
    parcel: str | None
    owner: str | None
    reason: str
    said: str
    action: str
    where: WhereTold
    walk: int
    about: str | None
    percent_a_year: float | None
    own_percent_a_year: float | None
    since: date | None
    on: date | None
    earliest: date | None
    latest: date | None
    gauge_age_years: float | None


@dataclass(frozen=True)
class HouseTold:
    """How many casks of a warehouse need somebody, and lines that are not told."""

    site: str | None
    warehouse: str | None
    said: str
    casks: int
    needing: int
    not_shown: int


@dataclass(frozen=True)
class ReviewTold:
    """What needs somebody: lines of all warehouses, the worst of each first."""

    as_of: date
    casks: int
    needing: int
    warehouses: tuple[HouseTold, ...]
    lines: tuple[LineTold, ...]
    seen_to: tuple[TickLine, ...]
    not_told: tuple[str, ...]


def review_told(found: Review) -> ReviewTold:
    """Return a review with its words."""
    return ReviewTold(
        as_of=found.as_of,
        casks=found.n_casks,
        needing=found.n_needing,
        warehouses=tuple(_house(one) for one in found.warehouses),
        lines=tuple(_line(line) for one in found.warehouses for line in one.lines),
        seen_to=found.done,
        not_told=found.not_told,
    )


def _house(one: WarehouseReview) -> HouseTold:
    counted = (one.n_casks, one.n_needing, one.not_shown)
    return HouseTold(one.site, one.warehouse, warehouse_words(one), *counted)


def _line(line: ReviewLine) -> LineTold:
    matter = line.matter
    lies = matter.lies
    return LineTold(
        cask=line.cask,
        casks=line.casks,
        parcel=line.parcel,
        owner=lies.owner,
        reason=line.reason.value,
        said=reason_words(line),
        action=action_words(line),
        where=WhereTold(lies.site, lies.warehouse, lies.row, lies.tier),
        walk=line.walk,
        about=matter.about,
        percent_a_year=matter.percent_a_year,
        own_percent_a_year=matter.own_percent_a_year,
        since=matter.since,
        on=matter.on,
        earliest=matter.earliest,
        latest=matter.latest,
        gauge_age_years=matter.years,
    )
