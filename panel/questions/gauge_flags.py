"""What the gauges of a filling give away: a leak, a gain, a strength that rises."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from panel.store.ages import calendar_years
from panel.store.contents import Gauge
from panel.store.filling_states import FillingState

if TYPE_CHECKING:
    from analysis.strength import Withdrawal


def gauge_flags(state: FillingState) -> Iterator[str]:
    """Give a dated sentence for every pair of gauges that looks wrong.

    What was drawn or re-racked in between is taken off first. A pair across a topping is left
    out: the tool does not know what the added spirit brought.
    """
    for early, late in pairwise(state.gauges):
        topped = any(early.on < on <= late.on for on in (each.on for each in state.added))
        if not topped and early.on < late.on and early.bulk_l > 0:
            for sentence in _pair(state, early, late):
                yield f"{early.on} to {late.on}: {sentence}"


def _pair(state: FillingState, early: Gauge, late: Gauge) -> tuple[str, ...]:
    from analysis.errors import InputError
    from analysis.strength import check_regauge

    years = calendar_years(early.on, late.on)
    contents = (early.bulk_l, early.abv, late.bulk_l, late.abv, years)
    fresh = early.on == state.filled_on
    mended = any(early.on < on for on in state.repaired)
    try:
        found = check_regauge(
            *contents, _withdrawals(state, early, late), after_filling=fresh, repaired=mended
        )
    except InputError as error:
        # The records contradict each other; that is what the reader must know.
        return (f"these records do not fit together: {error}",)
    return found.sentences


def _withdrawals(state: FillingState, early: Gauge, late: Gauge) -> list[Withdrawal]:
    from analysis.strength import Withdrawal

    return [
        Withdrawal(litres, state.strength_on(on), calendar_years(early.on, on))
        for on, litres in state.taken
        if early.on < on <= late.on
    ]
