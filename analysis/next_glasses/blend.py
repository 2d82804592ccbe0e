"""A vatting line by line: what it is expected to be, and what glasses of parts or blend tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.special

from ..array_types import Codes, Flags, Floats, Matrix, Stack, Vector
from ..house_line import on_the_line
from ..target import Target, ends_of
from ..target.lines import lines_of
from ..vatting import MixingRule
from .fill import Poured
from .inverse import inverse_of
from .panel import PanelNoise
from .room import BLEND
from .states import States
from .value import worth

_LEAST = 1e-9


@dataclass(frozen=True, eq=False)
class VatLines:
    """A vatting against its target.

    Attributes
    ----------
    names, notes
        Casks and lines.
    counts_for
        What a point of each cask counts for in each line of the vatting, (casks, lines).
    states
        The casks.
    mean
        Expected score of each line.
    rule
        Variance of what the rule of mixing may be off, (lines,).
    low, high
        Ends of the tolerances; infinite where that is an end of the line.
    weight
        Of the lines, adding up to one.
    """

    states: States
    counts_for: Matrix
    mean: Vector
    rule: Vector
    low: Vector
    high: Vector
    weight: Vector

    @property
    def names(self) -> tuple[str, ...]:
        """Its casks."""
        return self.states.names

    @property
    def notes(self) -> tuple[str, ...]:
        """Its lines."""
        return self.states.notes

    @property
    def beyond(self) -> Vector:
        """Points beyond the nearer end of the tolerance; below zero within."""
        found: Vector = np.maximum(self.mean - self.high, self.low - self.mean)
        return found

    @property
    def within(self) -> Flags:
        """Whether each line is expected to be within."""
        found: Flags = self.beyond <= 0.0
        return found

    def whole(self, own: Stack) -> Matrix:
        """Covariance of the lines over all that glasses can settle, from that of the casks."""
        weight = self.counts_for
        found = np.einsum("id,ide,ie->de", weight, own, weight)
        shared = np.einsum("id,idr->dr", weight, self.states.shared)
        found = found + np.diag(np.sum(shared**2, axis=1) + self.rule + _LEAST)
        return np.asarray(found, dtype=np.float64)

    @property
    def variance(self) -> Vector:
        """Variance of each line, the panel's own error with it."""
        return np.diag(self.whole(self.states.own)) + self.states.common

    def chance_of(self, line: int, moved: Vector, variance: float) -> Vector:
        """Chance that a line is within, should it be found so much further out."""
        sd = np.sqrt(max(variance, _LEAST))
        up = self.mean[line] - self.high[line] >= self.low[line] - self.mean[line]
        mean = self.mean[line] + np.asarray(moved) * (1.0 if up else -1.0)
        below = scipy.special.ndtr((self.low[line] - mean) / sd)
        found: Vector = scipy.special.ndtr((self.high[line] - mean) / sd) - below
        return found

    def over(self, line: int, moves: float) -> float:
        """Chance that a look moves a line over the nearer end of its tolerance."""
        if moves <= 0.0 or not np.isfinite(self.beyond[line]):
            return 0.0
        return float(scipy.special.ndtr(-abs(self.beyond[line]) / moves))


def vat_lines(states: States, target: Target, lpa: Vector, rule: MixingRule) -> VatLines:
    """Lay out a vatting of some casks by pure alcohol, the rule of mixing made straight at it."""
    notes = states.notes
    shares = lpa / lpa.sum()
    exponent = rule.exponents_of(notes)
    scores = np.maximum(on_the_line(states.mean), 0.5)
    amounts = scores ** (1.0 / exponent)
    mixed = shares @ amounts
    mean = on_the_line(mixed**exponent)
    counts = shares[:, None] * (scores / np.maximum(mean, 0.5)) ** (1.0 / exponent - 1.0)
    wrong = rule.exponents_sd(notes, on_the_line(states.mean), shares)
    low, high = ends_of(target)
    return VatLines(
        states=states,
        counts_for=counts,
        mean=mean,
        rule=rule.sd_of(notes, shares) ** 2 + wrong**2,
        low=low,
        high=high,
        weight=lines_of(target)[2],
    )


class BlendWeighing:
    """What glasses of the parts and of the blend are worth (see `fill.Weighing`)."""

    coupled = True

    def __init__(
        self, lines: VatLines, names: Sequence[str], panel: PanelNoise, counts: Stack
    ) -> None:
        self.lines, self.names, self.panel = lines, tuple(names), panel
        self.counts = counts.copy()
        self.inverse: Stack = inverse_of(lines.states.own)
        self.of_blend: Vector = np.zeros(len(lines.notes))
        self._worth = 0.0

    def most(self) -> Vector:
        """Anything may be worth a look: they are few."""
        return np.full(len(self.names), np.inf)

    def after(self) -> Vector:
        """Variance of each line after what is poured."""
        return self._variance(inverse_of(self.inverse), self.of_blend)

    def whole_after(self) -> Matrix:
        """Covariance of the lines after what is poured (see `VatLines.whole`)."""
        return self._whole(inverse_of(self.inverse), self.of_blend)

    def _whole(self, own: Stack, blend: Vector) -> Matrix:
        found: Matrix = inverse_of(inverse_of(self.lines.whole(own)) + np.diag(blend))
        return found

    def _variance(self, own: Stack, blend: Vector) -> Vector:
        return np.diag(self._whole(own, blend)) + self.lines.states.common

    def _more(self, row: int) -> Matrix:
        before = self.counts[row]
        found: Matrix = self.panel.information(before + 1.0) - self.panel.information(before)
        return found

    def variances(self, rows: Codes) -> Floats:
        """Variance of each line after one more glass, (rows, people, lines)."""
        own = inverse_of(self.inverse)
        found = np.zeros((len(rows), len(self.panel.assessors), len(self.lines.notes)))
        for at, row in enumerate(rows):
            for assessor, told in enumerate(self._more(int(row))):
                found[at, assessor] = self._with(own, int(row), told)
        return found

    def _with(self, own: Stack, row: int, told: Vector) -> Vector:
        if self.names[row] == BLEND:
            return self._variance(own, self.of_blend + told)
        changed = own.copy()
        changed[row] = inverse_of(self.inverse[row] + np.diag(told))
        return self._variance(changed, self.of_blend)

    def gains(self, rows: Codes) -> Matrix:
        """What one more glass adds by each person, points."""
        found: Matrix = self._value(self.variances(rows)) - self._worth
        return found

    def _value(self, after: Floats) -> Floats:
        lines = self.lines
        distance, before = np.abs(lines.beyond), lines.variance
        each = worth(np.broadcast_to(distance, after.shape), before, np.minimum(after, before))
        found: Floats = each @ lines.weight
        return found

    def pour(self, row: int, assessor: int) -> None:
        """Count a glass."""
        told = self._more(row)[assessor]
        self.counts[row, assessor] += 1.0
        if self.names[row] == BLEND:
            self.of_blend = self.of_blend + told
        else:
            self.inverse[row] += np.diag(told)
        self._worth = float(self._value(self.after()))

    def moves_of(self, poured: Sequence[Poured], line: int) -> Vector:
        """By how much the glasses of each cask alone would move a line, standard deviation."""
        found = np.zeros(len(self.names))
        before = self.lines.variance[line]
        for row in {one.row for one in poured}:
            alone = BlendWeighing(self.lines, self.names, self.panel, self.counts)
            for one in poured:
                if one.row == row:
                    alone.pour(row, one.assessor)
            found[row] = np.sqrt(max(before - alone.after()[line], 0.0))
        return found
