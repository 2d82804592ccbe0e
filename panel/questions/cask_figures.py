"""What the gauges of a filling come to: loss a year, empty space, and until when it is whisky."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from analysis.days import DAYS_A_YEAR
from panel.questions.gauge_flags import withdrawals
from panel.store.ages import calendar_years

if TYPE_CHECKING:
    from panel.store.filling_states import FillingState

LEGAL_ABV = 40.0
FORESEEN_YEARS = 100.0
"""Beyond this a straight line through two gauges says nothing."""


@dataclass(frozen=True)
class CaskFigures:
    """Figures of one filling; None with the reason where the records do not give them.

    `loss_lpa_percent_a_year` and `loss_bulk_percent_a_year` are compound, since filling;
    `weak_from` is the day on which a straight line through the first and the last gauge reaches
    40 % vol, an order of magnitude.
    """

    ullage_litres: float
    loss_lpa_percent_a_year: float | None
    loss_bulk_percent_a_year: float | None
    loss_reason: str | None
    weak_from: date | None
    weak_reason: str | None


def cask_figures(state: FillingState) -> CaskFigures:
    """Return what the gauges of a filling come to."""
    from analysis.strength import ullage_litres

    first, last = state.gauges[0], state.gauges[-1]
    ullage = ullage_litres(state.size_l, state.bulk_l)
    why = None
    if last.on <= first.on:
        why = "it was not gauged since it was filled"
    elif any(first.on < each.on <= last.on for each in state.added):
        why = "it was topped between its gauges"
    if why is not None:
        return CaskFigures(ullage, None, None, why, None, why)
    return _between(state, ullage)


def _between(state: FillingState, ullage: float) -> CaskFigures:
    from analysis.errors import InputError
    from analysis.strength import evaporation, years_until_abv

    first, last = state.gauges[0], state.gauges[-1]
    years = calendar_years(first.on, last.on)
    left = years_until_abv(first.abv, last.abv, years, LEGAL_ABV)
    weak_reason = None
    if left is None or left > FORESEEN_YEARS:
        left, weak_reason = None, "its strength does not fall towards 40 % vol"
    weak_from = None if left is None else last.on + timedelta(days=round(left * DAYS_A_YEAR))
    taken = withdrawals(state, first, last)
    try:
        loss = evaporation(first.bulk_l, first.abv, last.bulk_l, last.abv, years, taken)
    except InputError as error:
        return CaskFigures(ullage, None, None, str(error), weak_from, weak_reason)
    return CaskFigures(
        *(ullage, loss.lpa_percent_a_year_compound, loss.bulk_percent_a_year_compound, None),
        *(weak_from, weak_reason),
    )
