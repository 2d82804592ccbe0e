"""Casks against the cut: what a glass of one tells about whether it belongs to the best."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..array_types import Codes, Flags, Floats, Matrix, Stack, Vector
from ..profile.shapes import STANDING_OUT, STANDS_OUT, USUAL
from ..target import Target
from ..target.lines import lines_of
from ..target.off import below_off, moments_off, points_a_tolerance
from .inverse import inverse_of
from .panel import PanelNoise
from .states import States
from .value import distance_of, worth

_BENT = 400
"""Casks nearest to the cut, by how well they are known, of which the spread is asked."""


@dataclass(frozen=True, eq=False)
class Margins:
    """How far off the target each cask is, and the cut that it lies on one side of.

    Attributes
    ----------
    off, variance
        Expected points off the target and their variance, shape (n,).
    order
        Rows of the casks that may be chosen, the nearest first.
    chosen
        Which casks are chosen.
    cut
        Of the chosen the best of the others, of the others the worst of the chosen.
    """

    states: States
    target: Target
    off: Vector
    variance: Vector
    order: Codes
    chosen: Flags
    cut: Vector

    @cached_property
    def distance(self) -> Vector:
        """From each cask to its cut, points: that of the normal on which deciding costs as much.

        The difference of the two means where points off are spread as a normal.
        """
        off, known = self.off, np.isfinite(self.cut)
        cut = np.where(known, self.cut, 0.0)
        nearer = self._nearer(cut)
        loss = np.where(self.chosen, off - cut + nearer, nearer)
        wrong = np.where(self.chosen, off > cut, off < cut)
        signed = distance_of(loss, np.sqrt(self.variance))
        found = np.where(wrong, np.abs(off - cut), np.maximum(signed, 0.0))
        # A cask apart that lies within the cut comes in by being tied: that is worth its lead too.
        found = np.where(self.states.apart, signed, found)
        return np.where(known, found, np.inf)

    def _nearer(self, cut: Vector) -> Vector:
        """By how many points each cask is nearer than its cut on average."""
        mean, covariance = self.states.mean, self.states.covariance
        plain = below_off(self.target, mean, covariance, cut)
        found = plain.copy()
        rows = np.flatnonzero(self.states.unnosed)
        parts = [
            below_off(self.target, mean[rows], times * covariance[rows], cut[rows])
            for times in (USUAL, STANDING_OUT)
        ]
        found[rows] = (1.0 - STANDS_OUT) * parts[0] + STANDS_OUT * parts[1]
        return found if self.states.bends is None else self._bent(found, plain, cut)

    def _bent(self, nearer: Vector, plain: Vector, cut: Vector) -> Vector:
        """The same as the spread of the house has it, of the casks where that may count."""
        sd = np.sqrt(np.maximum(self.variance, 1e-12))
        to_cut = (cut - self.off) / sd
        rows = np.argsort(-to_cut, kind="stable")[:_BENT]
        some = self.states.only(rows)
        each = np.sqrt(np.diagonal(some.covariance, axis1=1, axis2=2))
        shares = np.clip(self.slopes[rows] * each / sd[rows, None], -1.0, 1.0)
        if some.bends is not None:
            nearer[rows] = plain[rows] * some.bends.below(shares, to_cut[rows])
        return nearer

    @property
    def k(self) -> int:
        """How many are chosen."""
        return int(self.chosen.sum())

    @property
    def ends(self) -> tuple[int | None, int | None]:
        """Rows at the cut: of the chosen the furthest off, of the others the nearest."""
        inside, outside = (self.order[self.chosen[self.order] == side] for side in (True, False))
        return (
            int(inside[-1]) if len(inside) else None,
            int(outside[0]) if len(outside) else None,
        )

    @cached_property
    def slopes(self) -> Matrix:
        """By how much a point of each note moves each cask's points off, shape (n, notes)."""
        aim, tolerance, weight = lines_of(self.target)
        length = np.maximum(np.sqrt(self.off**2 + self.variance), 1e-9)
        points = points_a_tolerance(self.target) ** 2
        found: Matrix = points * weight * (self.states.mean - aim) / tolerance**2 / length[:, None]
        return found


def margins_of(states: States, target: Target, k: int) -> Margins:
    """Lay the casks against the cut.

    Parameters
    ----------
    k
        How many are to be chosen; the nearest by expected points off.
    """
    off, variance = moments_off(target, states.mean, states.covariance)
    order = np.argsort(np.where(states.foretellable, off, np.inf), kind="stable")
    order = order[: int(states.foretellable.sum())]
    flags = np.zeros(len(off), dtype=np.bool_)
    flags[order[:k]] = True
    others = off[states.foretellable & ~flags]
    cut = np.full(len(off), np.inf if not flags.any() else off[flags].max())
    cut[flags] = others.min() if len(others) else np.inf
    return Margins(states, target, off, variance, order, flags, cut)


class BestWeighing:
    """What glasses are worth to the choice of the best casks (see `fill.Weighing`).

    Values are those of the mean of the chosen, in points.

    Parameters
    ----------
    counts
        Glasses of the sample of each cask that each person had, (casks, people, notes).
    """

    coupled = False

    def __init__(self, margins: Margins, panel: PanelNoise, counts: Stack) -> None:
        self.margins, self.panel = margins, panel
        self.names = margins.states.names
        self.counts = counts
        self.told: Matrix = np.zeros_like(margins.states.mean)
        self.after: Vector = margins.variance.copy()
        self._worth: Vector = np.zeros(len(self.names))

    def most(self) -> Vector:
        """What knowing each cask for certain would add."""
        held = self.margins
        found: Vector = worth(held.distance, held.variance, np.zeros_like(held.variance))
        return found / max(held.k, 1)

    def variances(self, rows: Codes) -> Matrix:
        """Variance of the points off after one more glass by each person, (rows, people)."""
        held = self.margins
        before = self.counts[rows]
        more = self.panel.information(before + 1.0) - self.panel.information(before)
        notes = np.eye(len(held.states.notes))
        precision = inverse_of(held.states.covariance[rows]) + self.told[rows][:, :, None] * notes
        left = inverse_of(precision[:, None] + more[..., None] * notes)
        mean = np.broadcast_to(held.states.mean[rows][:, None], more.shape)
        return _variance(held.target, mean, left)

    def gains(self, rows: Codes) -> Matrix:
        """What one more glass of some casks adds by each person, points."""
        held = self.margins
        distance, before = held.distance[rows][:, None], held.variance[rows][:, None]
        after = np.minimum(self.variances(rows), self.after[rows][:, None])
        found: Matrix = worth(distance, before, after) - self._worth[rows][:, None]
        return found / max(held.k, 1)

    def pour(self, row: int, assessor: int) -> None:
        """Count a glass."""
        held = self.margins
        before = self.counts[row]
        one = np.zeros_like(before)
        one[assessor] = 1.0
        more = self.panel.information(before + one) - self.panel.information(before)
        self.told[row] += more[assessor]
        self.counts[row] = before + one
        left = inverse_of(inverse_of(held.states.covariance[row]) + np.diag(self.told[row]))
        found = _variance(held.target, held.states.mean[[row]], left[None])[0]
        self.after[row] = min(self.after[row], found)
        part = slice(row, row + 1)
        self._worth[row] = worth(held.distance[part], held.variance[part], self.after[part])[0]

    @property
    def moves(self) -> Vector:
        """Standard deviation by which the glasses poured move each cask's points off."""
        found: Vector = np.sqrt(np.maximum(self.margins.variance - self.after, 0.0))
        return found


def _variance(target: Target, mean: Floats, covariance: Floats) -> Floats:
    """Variance of points off, of any leading shape."""
    return moments_off(target, mean, covariance)[1]
