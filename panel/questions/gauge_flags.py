"""What the gauges of a filling give away: a leak, a gain, a strength that rises."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from panel.store.ages import calendar_years
from panel.store.contents import Gauge
from panel.store.filling_states import FillingState

if TYPE_CHECKING:
    from analysis.strength import RegaugeLimits, Withdrawal


MORE_THAN_ERROR = 1.005
"""What two gauges of the same spirit may differ by; the limit on a gain between regauges."""


def gauge_flags(state: FillingState, limits: RegaugeLimits | None = None) -> Iterator[str]:
    """Give a dated sentence for every pair of gauges that looks wrong by the house's limits.

    What was drawn or re-racked in between is taken off first. A pair across a topping is left
    out: the tool does not know what the added spirit brought.
    """
    for early, late in pairwise(state.gauges):
        topped = any(early.on < on <= late.on for on in (each.on for each in state.added))
        if not topped and early.on < late.on and early.bulk_l > 0:
            for sentence in _pair(state, early, late, limits):
                yield f"{early.on} to {late.on}: {sentence}"


def racked_flags(state: FillingState, others: Mapping[int, FillingState]) -> Iterator[str]:
    """Give a sentence for litres that were not there: racked in by the records, or given away.

    `others` are the states of the fillings that gave, by id.
    """
    received = sum(litres for _, litres in state.received)
    if received and state.gauges[0].bulk_l > received * MORE_THAN_ERROR:
        yield (
            f"{state.label} was filled with {state.gauges[0].bulk_l:g} L, but what was re-racked "
            f"into it comes to {received:g} L: one of the figures is wrong"
        )
    yield from _overdrawn(state)
    for parent_id in dict.fromkeys(parent for parent, _ in state.received):
        if parent_id in others:
            yield from _overdrawn(others[parent_id])


def _overdrawn(parent: FillingState) -> Iterator[str]:
    for on in sorted({on for on, _ in parent.given}):
        given = sum(litres for day, litres in parent.given if day == on)
        held = parent.content_on(on - timedelta(1)).bulk_l
        if on > parent.filled_on and given > held * MORE_THAN_ERROR:
            yield (
                f"{parent.label} gave {given:g} L on {on}, but held {held:.0f} L by its last "
                "gauge: one of the figures is wrong"
            )


def _pair(
    state: FillingState, early: Gauge, late: Gauge, limits: RegaugeLimits | None
) -> tuple[str, ...]:
    from analysis.errors import InputError
    from analysis.strength import check_regauge

    years = calendar_years(early.on, late.on)
    contents = (early.bulk_l, early.abv, late.bulk_l, late.abv, years)
    fresh = early.on == state.filled_on
    mended = any(early.on < on for on in state.repaired)
    try:
        taken = withdrawals(state, early, late)
        found = check_regauge(*contents, taken, after_filling=fresh, limits=limits, repaired=mended)
    except InputError as error:
        # The records contradict each other; that is what the reader must know.
        return (f"these records do not fit together: {error}",)
    return found.sentences


def withdrawals(state: FillingState, early: Gauge, late: Gauge) -> list[Withdrawal]:
    """Return what was drawn or re-racked between two gauges."""
    from analysis.strength import Withdrawal

    return [
        Withdrawal(litres, state.strength_on(on), calendar_years(early.on, on))
        for on, litres in state.taken
        if early.on < on <= late.on
    ]
