"""What the gauges of a filling come to: loss a year, empty space, and until when it is whisky."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date, timedelta
from typing import TYPE_CHECKING

from analysis.days import DAYS_A_YEAR
from panel.frames.bars import bar_rules
from panel.frames.contents import contents_of, dry_stores, weak_from
from panel.questions.withdrawn import withdrawals
from panel.store.ages import calendar_years

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.filling_states import FillingState

LEGAL_ABV = 40.0
FORESEEN_YEARS = 100.0
"""Beyond this a straight line through two gauges says nothing."""


@dataclass(frozen=True)
class ContentOn:
    """What a filling holds on a day, moved there by its own loss, and until when it is whisky."""

    on: date
    litres: float
    litres_low: float
    litres_high: float
    abv_percent: float
    abv_percent_low: float
    abv_percent_high: float
    under_legal_from: date | None


@dataclass(frozen=True)
class _Loss:
    """What was lost between the first and the last gauge."""

    loss_lpa_percent_a_year: float | None
    loss_bulk_percent_a_year: float | None
    loss_reason: str | None
    weak_from: date | None
    weak_reason: str | None


@dataclass(frozen=True)
class CaskFigures(_Loss, ContentOn):
    """Figures of one filling; None with the reason where the records do not give them.

    `loss_lpa_percent_a_year` and `loss_bulk_percent_a_year` are compound, since filling;
    `weak_from` is the day on which a straight line through the first and the last gauge reaches
    40 % vol, an order of magnitude. `litres` and `abv_percent` are those of the day `on`, moved
    there by the cask's own loss (`panel.frames.contents`), with the ends that hold them 90 times
    in 100; `under_legal_from` is when its strength falls under the legal one by that loss.
    """

    ullage_litres: float


def content_of(db: Session, state: FillingState, house: Sequence[FillingState]) -> ContentOn:
    """Return what a filling holds on the day of its state; `house` are all that lie in casks."""
    lying = [each for each in house if each.emptied_on is None]
    at = next(i for i, each in enumerate(lying) if each.filling_id == state.filling_id)
    contents = contents_of(lying, state.as_of, dry_stores=dry_stores(db))
    weak = weak_from(lying, contents, bar_rules(db).legal_abv_percent)
    litres, abv = contents.litres_between(), contents.abv_between()
    return ContentOn(
        on=state.as_of,
        litres=float(contents.litres[at]),
        litres_low=float(litres[0][at]),
        litres_high=float(litres[1][at]),
        abv_percent=float(contents.abv_percent[at]),
        abv_percent_low=float(abv[0][at]),
        abv_percent_high=float(abv[1][at]),
        under_legal_from=weak[at],
    )


def cask_figures(state: FillingState, content: ContentOn) -> CaskFigures:
    """Return what the gauges of a filling come to."""
    from analysis.strength import ullage_litres

    first, last = state.gauges[0], state.gauges[-1]
    why = None
    if last.on <= first.on:
        why = "it was not gauged since it was filled"
    elif any(first.on < each.on <= last.on for each in state.added):
        why = "it was topped between its gauges"
    loss = _Loss(None, None, why, None, why) if why is not None else _between(state)
    return CaskFigures(
        ullage_litres=ullage_litres(state.size_l, state.bulk_l),
        **{each.name: getattr(loss, each.name) for each in fields(loss)},
        **{each.name: getattr(content, each.name) for each in fields(content)},
    )


def _between(state: FillingState) -> _Loss:
    from analysis.errors import InputError
    from analysis.strength import evaporation, years_until_abv

    first, last = state.gauges[0], state.gauges[-1]
    years = calendar_years(first.on, last.on)
    left = years_until_abv(first.abv, last.abv, years, LEGAL_ABV)
    weak_reason = None
    if left is None or left > FORESEEN_YEARS:
        left, weak_reason = None, "its strength does not fall towards 40 % vol"
    weak = None if left is None else last.on + timedelta(days=round(left * DAYS_A_YEAR))
    taken = withdrawals(state, first, last)
    try:
        loss = evaporation(first.bulk_l, first.abv, last.bulk_l, last.abv, years, taken)
    except InputError as error:
        return _Loss(None, None, str(error).rstrip("."), weak, weak_reason)
    return _Loss(
        *(loss.lpa_percent_a_year_compound, loss.bulk_percent_a_year_compound, None),
        *(weak, weak_reason),
    )
