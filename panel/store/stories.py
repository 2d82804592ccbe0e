"""What the dated records say of each filling, gathered for the whole stock at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from panel.kinds import EventKind, ReleaseStatus
from panel.store.ages import Origin, ParentShare, Topping
from panel.store.casks import (
    Cask,
    Filling,
    FillingEvent,
    Make,
    Regauge,
    standing,
)
from panel.store.contents import Added, Content, Gauge, content_on, mixed_strength_on
from panel.store.draws import Draw, DrawPart
from panel.store.marks_of_fault import FaultsMarked
from panel.store.nosed import Nosed
from panel.store.releases import RESERVING, Release, ReleasePart

LITRES_A_MILLILITRE = 0.001


@dataclass(frozen=True)
class Place:
    """Where a cask lies."""

    site: str | None = None
    warehouse: str | None = None
    row: str | None = None
    tier: str | None = None

    def words(self) -> str:
        """Return the place from the large to the small."""
        return " ".join(part for part in (self.site, self.warehouse, self.row, self.tier) if part)


@dataclass
class Story:
    """What the dated records say of one filling, gathered in order of date."""

    gauges: list[Gauge] = field(default_factory=list)
    taken: list[tuple[date, float]] = field(default_factory=list)
    given: list[tuple[date, float]] = field(default_factory=list)
    added: list[Added] = field(default_factory=list)
    parents: list[tuple[int, date, float, float | None]] = field(default_factory=list)
    place: Place = field(default_factory=Place)
    emptied_on: date | None = None
    leaking_since: date | None = None
    repaired: list[date] = field(default_factory=list)
    reserved_l: float | None = None
    reserved_whole: bool = False
    promised: list[tuple[str, float]] = field(default_factory=list)
    promised_whole: bool = False
    others: tuple[str, ...] = ()
    marks: tuple[FaultsMarked, ...] = ()
    nosed: Nosed | None = None

    def give(self, on: date, litres: float) -> None:
        """Take off what went into another cask."""
        self.taken.append((on, litres))
        self.given.append((on, litres))

    def content_on(self, day: date) -> Content:
        """Return litres and strength on a day."""
        return content_on(self.gauges, self.taken, self.added, day)

    def strength_on(self, day: date) -> float:
        """Return the strength on a day."""
        return mixed_strength_on(self.gauges, self.taken, self.added, day)


def fillings_by(as_of: date) -> Any:
    """Return the query for every filling begun by a day, with its cask and make."""
    return (
        select(
            *Filling.__table__.columns,
            *(Cask.number, Cask.wood, Cask.size_l),
            *(Make.name.label("make"), Make.phenol_ppm),
        )
        .join(Cask, Cask.id == Filling.cask_id)
        .outerjoin(Make, Make.id == Filling.make_id)
        .where(Filling.filled_on <= as_of)
        .order_by(Cask.number, Filling.filled_on)
    )


def stories_of(db: Session, rows: Iterable[Row[Any]], as_of: date) -> dict[int, Story]:
    """Return by id what gauges, draws and events say of each filling."""
    stories: dict[int, Story] = defaultdict(Story)
    for row in rows:
        story = stories[row.id]
        story.place = Place(row.site, row.warehouse, row.row, row.tier)
        story.gauges.append(Gauge(row.filled_on, row.fill_bulk_l, row.fill_abv))
    _tell_gauges(db, stories, as_of)
    _tell_draws(db, stories, as_of)
    for event in db.execute(_events(as_of)):
        _tell_event(stories, event)
    return stories


def _tell_gauges(db: Session, stories: dict[int, Story], as_of: date) -> None:
    gauges = (
        select(
            *(Regauge.filling_id, Regauge.gauged_on, Regauge.bulk_l, Regauge.abv, Regauge.method)
        )
        .where(Regauge.gauged_on <= as_of)
        .order_by(Regauge.gauged_on)
    )
    for filling_id, on, bulk_l, abv, method in db.execute(gauges):
        stories[filling_id].gauges.append(Gauge(on, bulk_l, abv, method))


def _tell_draws(db: Session, stories: dict[int, Story], as_of: date) -> None:
    whole = select(Draw.filling_id, Draw.drawn_on, Draw.volume_ml).where(
        Draw.filling_id.is_not(None), Draw.volume_ml.is_not(None)
    )
    parts = select(DrawPart.filling_id, Draw.drawn_on, DrawPart.millilitres).join(
        Draw, Draw.id == DrawPart.draw_id
    )
    queries: tuple[Any, ...] = (whole, parts)
    for query in queries:
        for filling_id, on, millilitres in db.execute(query):
            if None not in (filling_id, on, millilitres) and on <= as_of:
                stories[filling_id].taken.append((on, millilitres * LITRES_A_MILLILITRE))


def tell_releases(db: Session, stories: dict[int, Story], as_of: date, besides: str | None) -> None:
    """What releases have promised to themselves, and what they have taken."""
    found = (
        select(Release, ReleasePart)
        .join(ReleasePart, ReleasePart.release_id == Release.id)
        .where(Release.planned_on <= as_of)
        .order_by(Release.planned_on, Release.id)
    )
    for release, part in db.execute(found):
        if part.filling_id not in stories or release.name == besides:
            continue
        story = stories[part.filling_id]
        if release.disgorged_on is not None and release.disgorged_on <= as_of:
            _tell_disgorged(story, release.disgorged_on, part)
        elif reserves_on(release, as_of):
            story.promised.append((release.name, part.litres))
            story.promised_whole |= part.whole


def reserves_on(release: Release, as_of: date) -> bool:
    """Say whether by a day a release was proposed, and neither took its casks nor was given up."""
    if release.planned_on > as_of:
        return False
    if release.disgorged_on is not None and release.disgorged_on <= as_of:
        return False
    return release.status in RESERVING or not _over_by(release, as_of)


def _over_by(release: Release, as_of: date) -> bool:
    if release.status is ReleaseStatus.CANCELLED:
        return release.cancelled_on is None or release.cancelled_on <= as_of
    return release.bottled_on is None or release.bottled_on <= as_of


def _tell_disgorged(story: Story, on: date, part: ReleasePart) -> None:
    if part.given_l:
        story.taken.append((on, part.given_l))
    if part.whole and story.emptied_on is None:
        story.emptied_on = on


def tell_neighbours(rows: Iterable[Row[Any]], stories: dict[int, Story]) -> None:
    """Of each filling those that were not emptied out of the same cask either."""
    lying: dict[str, list[Row[Any]]] = defaultdict(list)
    for row in rows:
        if stories[row.id].emptied_on is None:
            lying[row.number].append(row)
    for together in lying.values():
        for row in together if len(together) > 1 else ():
            stories[row.id].others = tuple(each.label for each in together if each is not row)


def _events(as_of: date) -> Any:
    return (
        select(
            *(FillingEvent.filling_id, FillingEvent.kind, FillingEvent.happened_on),
            *(FillingEvent.parent_filling_id, FillingEvent.litres, FillingEvent.abv),
            *(FillingEvent.site, FillingEvent.warehouse, FillingEvent.row, FillingEvent.tier),
        )
        .where(FillingEvent.happened_on <= as_of, standing())
        .order_by(FillingEvent.happened_on, FillingEvent.id)
    )


def _tell_event(stories: dict[int, Story], event: Row[Any]) -> None:
    story = stories[event.filling_id]
    kind = EventKind(event.kind)
    if kind is EventKind.MOVED:
        story.place = _moved(story.place, event)
    elif kind is EventKind.LEAK_FOUND:
        story.leaking_since = event.happened_on
    elif kind is EventKind.REPAIRED:
        story.leaking_since = None
        story.repaired.append(event.happened_on)
    elif kind is EventKind.RE_RACKED:
        parent_id: int = event.parent_filling_id
        story.parents.append((parent_id, event.happened_on, event.litres, event.abv))
        stories[parent_id].give(event.happened_on, event.litres)
    elif kind is EventKind.TOPPED:
        _tell_topped(stories, event)
    elif kind is EventKind.EMPTIED:
        story.emptied_on = event.happened_on
    else:
        story.reserved_whole = kind is EventKind.RESERVED and event.litres is None
        story.reserved_l = event.litres if kind is EventKind.RESERVED else None


def _tell_topped(stories: dict[int, Story], event: Row[Any]) -> None:
    """What went in; its strength is the parent's on the day where nobody measured it."""
    abv, parent_id = event.abv, event.parent_filling_id
    if parent_id is not None:
        parent = stories[parent_id]
        if abv is None and parent.gauges:
            abv = parent.strength_on(event.happened_on)
        parent.give(event.happened_on, event.litres)
    added = Added(event.happened_on, event.litres, abv, parent_id)
    stories[event.filling_id].added.append(added)


def _moved(before: Place, event: Row[Any]) -> Place:
    if event.site or event.warehouse:
        site = event.site or before.site
        return Place(site, event.warehouse or before.warehouse, event.row, event.tier)
    return replace(before, row=event.row or before.row, tier=event.tier or before.tier)


def origins_of(rows: Iterable[Row[Any]], stories: dict[int, Story]) -> dict[int, Origin]:
    """Return where the spirit of each filling comes from."""
    return {
        row.id: Origin(
            row.filled_on,
            row.phenol_ppm,
            tuple(
                ParentShare(parent, on, _given_lpa(stories[parent], on, litres, abv))
                for parent, on, litres, abv in stories[row.id].parents
            ),
            tuple(_toppings(stories[row.id])),
            row.make,
        )
        for row in rows
    }


def _given_lpa(parent: Story, on: date, litres: float, abv: float | None) -> float:
    measured = abv is not None or not parent.gauges
    strength = (abv or 0.0) if measured else parent.strength_on(on)
    return litres * strength / 100


def _toppings(story: Story) -> Iterator[Topping]:
    for place, each in enumerate(story.added):
        lpa = None if each.abv is None else each.litres * each.abv / 100
        before = content_on(
            [gauge for gauge in story.gauges if gauge.on < each.on] or story.gauges[:1],
            story.taken,
            story.added[:place],
            each.on,
        )
        yield Topping(each.on, each.parent_id, lpa, before.lpa)
