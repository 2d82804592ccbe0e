"""What the gauges of a filling give away: a leak, a gain, a strength that rises."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.frames.contents import alcohol_error, way_of
from panel.questions.store_losses import StoreLosses, as_year, store_losses
from panel.questions.withdrawn import withdrawals
from panel.store.ages import calendar_years
from panel.store.contents import Gauge
from panel.store.filling_states import FillingState

if TYPE_CHECKING:
    from analysis.strength import Excess, RegaugeCheck, RegaugeFlag
    from analysis.strength.unexplained import GaugeSeries
    from panel.questions.loss_limits import LossRules


MORE_THAN_ERROR = 1.005
"""What two gauges of the same spirit may differ by; the limit on a gain between regauges."""
LEAST_LEFT = 1e-4
"""A cask that was found empty counts as holding this share, so that it has a logarithm."""


@dataclass(frozen=True)
class GaugeFinding:
    """What two gauges of a filling show; `contradiction` where the records do not fit."""

    filling_id: int
    early: Gauge
    late: Gauge
    repaired: bool
    check: RegaugeCheck | None = None
    excess: Excess | None = None
    contradiction: str | None = None

    def has(self, flag: RegaugeFlag) -> bool:
        """Tell whether it shows that."""
        return self.check is not None and flag in self.check.flags

    @property
    def sentences(self) -> tuple[str, ...]:
        """A dated sentence for everything that looks wrong."""
        said: tuple[str, ...] = (self.contradiction,) if self.contradiction else ()
        said = self.check.sentences if self.check is not None else said
        return tuple(f"{self.early.on} to {self.late.on}: {each}" for each in said)


@dataclass
class Stretch:
    """Gauges of a filling since something was last added to it, oldest first.

    `left` is the share of the first one's alcohol that each found; `steps` are the places of those
    before which something was lost that is known of.
    """

    state: FillingState
    gauges: list[Gauge]
    left: list[float]
    steps: set[int]

    def ends(self, back: int) -> tuple[Gauge, Gauge]:
        """Return the gauge that is judged, and the one so many before it."""
        return self.gauges[-1 - back], self.gauges[-1]


def gauge_findings(
    states: Sequence[FillingState],
    house: Sequence[FillingState],
    losses: LossRules,
    *,
    like: StoreLosses | None = None,
) -> Iterator[GaugeFinding]:
    """Judge every gauge of some fillings by the cask's own loss and by the house's limits.

    This is the one answer to whether a cask loses, or gains, more than can be explained: since the
    gauge before, and, where it has gone slowly, since the one before that. What was drawn or
    re-racked in between is taken off first; a pair across a topping is left out, since the tool
    does not know what the added spirit brought. `house` are all fillings that lie in casks, among
    them these; `like` is what was learnt of them, where it has been (`store_losses`).
    """
    if like is None:
        like = store_losses(house, losses)
    stretches = [Stretch(each, [each.gauges[0]], [1.0], set()) for each in states]
    for place in range(1, max((len(state.gauges) for state in states), default=0)):
        grown = []
        for stretch in stretches:
            if place < len(stretch.state.gauges):
                found = _grow(stretch, stretch.state.gauges[place])
                if found is not None:
                    yield found
                elif len(stretch.gauges) > 1:
                    grown.append(stretch)
        if grown:
            yield from _judged_all(grown, like, losses)


def _grow(stretch: Stretch, late: Gauge) -> GaugeFinding | None:
    """Take a gauge in; where it contradicts the one before, say so and begin anew."""
    from analysis.errors import InputError
    from analysis.strength import evaporation

    state, early = stretch.state, stretch.gauges[-1]
    topped = any(early.on < each.on <= late.on for each in state.added)
    if topped or early.on >= late.on or early.bulk_l <= 0:
        stretch.gauges, stretch.left, stretch.steps = [late], [1.0], set()
        return None
    if len(stretch.gauges) > 1 and _known_loss(state, stretch.gauges[-2], early):
        stretch.steps.add(len(stretch.gauges) - 1)
    years = calendar_years(early.on, late.on)
    taken = withdrawals(state, early, late)
    try:
        loss = evaporation(early.bulk_l, early.abv, late.bulk_l, late.abv, years, taken)
    except InputError as error:
        # The records contradict each other; that is what the reader must know.
        said = f"these records do not fit together: {error}"
        stretch.gauges, stretch.left, stretch.steps = [late], [1.0], set()
        return GaugeFinding(state.filling_id, early, late, False, contradiction=said)
    kept = math.pow(1.0 - loss.lpa_percent_a_year_compound / 100.0, years)
    stretch.left.append(stretch.left[-1] * max(kept, LEAST_LEFT))
    stretch.gauges.append(late)
    return None


def _known_loss(state: FillingState, early: Gauge, late: Gauge) -> bool:
    """Tell whether a leak between two gauges is on record."""
    return any(early.on < on <= late.on for on in state.repaired)


def _judged_all(
    stretches: Sequence[Stretch], like: StoreLosses, losses: LossRules
) -> Iterator[GaugeFinding]:
    from analysis.strength import RegaugeFlag
    from analysis.strength.unexplained import excess_loss

    series = _series(stretches, like)
    once, slowly = (excess_loss(series, like.neighbours, back=back) for back in (1, 2))
    for row, stretch in enumerate(stretches):
        latest = _checked(stretch, 1, once.at(row), losses)
        last = len(stretch.gauges) - 1
        if latest.has(RegaugeFlag.LEAK):
            stretch.steps.add(last)
        elif last >= 2 and last - 1 not in stretch.steps and once.apart[row] > 0.0:
            longer = _checked(stretch, 2, slowly.at(row), losses)
            if longer.has(RegaugeFlag.LEAK):
                stretch.steps |= {last - 1, last}
                yield longer
        yield latest


def gauge_flags(
    state: FillingState, house: Sequence[FillingState], losses: LossRules
) -> Iterator[str]:
    """Give a dated sentence for every gauge that looks wrong by the house's limits."""
    for finding in gauge_findings([state], house, losses):
        yield from finding.sentences


def _checked(stretch: Stretch, back: int, excess: Excess, losses: LossRules) -> GaugeFinding:
    from analysis.strength import check_regauge

    state, (early, late) = stretch.state, stretch.ends(back)
    mended = any(early.on < on for on in state.repaired)
    found = check_regauge(
        *(early.bulk_l, early.abv, late.bulk_l, late.abv, calendar_years(early.on, late.on)),
        withdrawals(state, early, late),
        after_filling=early.on == state.filled_on,
        limits=losses.limits(state),
        repaired=mended,
        excess=excess,
    )
    return GaugeFinding(state.filling_id, early, late, mended, found, excess)


def _series(stretches: Sequence[Stretch], like: StoreLosses) -> GaugeSeries:
    import numpy as np

    from analysis.strength.unexplained import GaugeSeries

    states = [stretch.state for stretch in stretches]
    shape = (len(stretches), max(len(stretch.gauges) for stretch in stretches))
    years, left, error, on = (np.full(shape, np.nan) for _ in range(4))
    steps, method = np.zeros(shape, dtype=np.bool_), np.zeros(shape, dtype=np.intp)
    for row, stretch in enumerate(stretches):
        at, begun = len(stretch.gauges), stretch.gauges[0].on
        years[row, :at] = [calendar_years(begun, gauge.on) for gauge in stretch.gauges]
        on[row, :at] = [as_year(gauge.on) for gauge in stretch.gauges]
        left[row, :at] = np.log(stretch.left)
        error[row, :at] = [alcohol_error(gauge) for gauge in stretch.gauges]
        method[row, :at] = [way_of(gauge) for gauge in stretch.gauges]
        steps[row, list(stretch.steps)] = True
    fresh = [stretch.gauges[0].on == stretch.state.filled_on for stretch in stretches]
    return GaugeSeries(
        years=years,
        log_left=left,
        error=error,
        steps=steps,
        fresh=np.array(fresh, dtype=np.bool_),
        size_litres=np.array([state.size_l for state in states], dtype=np.float64),
        store=np.array([like.number(state) for state in states], dtype=np.intp),
        on=on,
        method=method,
    )


def racked_flags(state: FillingState, others: Mapping[int, FillingState]) -> Iterator[str]:
    """Give a sentence for litres that were not there: racked in by the records, or given away.

    `others` are the states of the fillings that gave, by id.
    """
    received = sum(litres for _, litres in state.received)
    if received and state.gauges[0].bulk_l > received * MORE_THAN_ERROR:
        yield (
            f"{state.label} was filled with {in_digits(state.gauges[0].bulk_l, 'g')} L, but "
            "what was re-racked "
            f"into it comes to {in_digits(received, 'g')} L: one of the figures is wrong"
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
                f"{parent.label} gave {in_digits(given, 'g')} L on {on}, but held "
                f"{held:.0f} L by its last "
                "gauge: one of the figures is wrong"
            )
