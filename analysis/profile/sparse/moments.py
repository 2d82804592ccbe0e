"""What is uncertain about the effects of a large house: exact, from the places of the factor.

The covariance of the unknowns is ``C = Z + W O W'``: the inverse of the local matrix, of which
`inverse` finds what is needed, and a term of the rank of the border and of taking the mean out.
What the scores tell of an unknown, ``1 - C_kk``, is summed over its row of ``C Z'KZ`` instead, so
that it keeps its digits where a ratio is next to nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np

from ...array_types import Codes, Matrix, Vector
from ..equations import PredictionErrors, SecondMoments
from ..layout import sums
from ..panel_weights import PanelWeights
from ..terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    ASSESSOR_SESSION,
    FILLING,
    SAMPLE,
    SESSION,
)
from .pattern import F
from .predict import prediction_errors
from .system import SparseSystem


class SparseMoments(SecondMoments):
    """Second moments of the effects at one system, in units of ``s^2``; as `Moments`."""

    def __init__(self, system: SparseSystem) -> None:
        self._system, self.pattern, self.layout = system, system.pattern, system.layout
        entries = system.plan.places.inverse(system.factor)
        self.local = entries[system.plan.entry]
        self.wide = _Wide.of(system)
        self.mean = system.solved(system.mean)
        self.mean_square = float(system.mean @ self.mean)
        self._between_samples()
        self._between_meetings()

    @property
    def system(self) -> SparseSystem:
        """The equations."""
        return self._system

    def prediction_errors(self, panel: PanelWeights) -> PredictionErrors:
        """How far off the mean score of a panel is predicted."""
        return prediction_errors(self, panel)

    def _between_samples(self) -> None:
        sys, plan = self.system, self.system.plan
        table = sys.tau_of
        self._tau_wide = table @ self.wide.columns
        self._tau_mean = table @ self.mean
        found = self.wide.squares(self._tau_wide) - 2.0 * self._tau_mean + self.mean_square
        diagonal = self.local[self.pattern.diagonal]
        own, shared = plan.own, plan.filling
        inner = np.flatnonzero(~self.pattern.much)
        found[inner] += sys.sample_sd[inner] ** 2 * diagonal[own[inner]]
        several = np.flatnonzero(shared >= 0)
        found[several] += sys.filling_sd**2 * diagonal[shared[several]]
        both = np.flatnonzero((shared >= 0) & ~self.pattern.much)
        slot = self.pattern.slots(own[both], shared[both])
        found[both] += 2.0 * sys.sample_sd[both] * sys.filling_sd * self.local[slot]
        self.tau_variance: Vector = found

    def _between_meetings(self) -> None:
        """``cov(f_a, f_b)`` of each link, and ``cov(tau, f)`` of each meeting."""
        sys, pat, lay = self.system, self.pattern, self.layout
        combos, z = pat.combos, sys.local.ravel()
        inner = self.local[combos.slot]
        product = z[combos.first] * z[combos.second] * combos.twice * inner
        found = sums(combos.link, product, len(pat.a))
        wide = sys.z @ self.wide.columns
        across = wide @ self.wide.middle
        found += np.einsum("ij,ij->i", across[pat.a], wide[pat.b])
        moved, g = sys.z @ self.mean, sys.on_scale
        found -= g[pat.a] * moved[pat.b] + g[pat.b] * moved[pat.a]
        self.of_link = found + g[pat.a] * g[pat.b] * self.mean_square
        tau = self._of_tau(inner)
        tau += np.einsum("ij,ij->i", self._tau_wide[lay.meeting_sample], across)
        tau += g * (self.mean_square - self._tau_mean[lay.meeting_sample]) - moved
        self.with_tau = tau

    def _of_tau(self, inner: Vector) -> Vector:
        """The local part of ``cov(tau, f)``."""
        sys, combos, n = self.system, self.pattern.combos, self.layout.n_meetings
        own = combos.link < n
        first, second = combos.first[own], combos.second[own]
        z = sys.local.ravel()
        sd = sys.local_sd.copy()
        sd[:, F + 1 :] = 0.0
        tau = sd.ravel()
        product = tau[first] * z[second]
        product += np.where(first != second, tau[second] * z[first], 0.0)
        return sums(combos.link[own], product * inner[own], n)

    @cached_property
    def _of_cell(self) -> tuple[Vector, Vector]:
        """``sum w' cov(f, f')`` over the cell of each meeting, and ``sum w w' cov(f, f')``."""
        sys, lay = self.system, self.layout
        weight = sys.meeting_weight
        across = sys.plan.between(self.of_link) @ weight
        return across, sums(lay.meeting_cell, weight * across, lay.n_cells)

    @cached_property
    def fitted_variance(self) -> Vector:
        """Variance of what is fitted, cell effect and all, at each meeting."""
        lay, n = self.layout, self.layout.n_meetings
        across, total = self._of_cell
        kappa = self.system.absorbed[lay.meeting_cell]
        found: Vector = self.of_link[:n] + kappa * (
            1.0 - 2.0 * across + kappa * total[lay.meeting_cell]
        )
        return found

    @cached_property
    def tau_with_fitted(self) -> Vector:
        """``cov(tau, fitted)`` at each meeting, cell effect and all."""
        sys, lay = self.system, self.layout
        total = sums(lay.meeting_cell, sys.meeting_weight * self.with_tau, lay.n_cells)
        found: Vector = self.with_tau - (sys.absorbed * total)[lay.meeting_cell]
        return found

    @cached_property
    def _told(self) -> Vector:
        """``1 - C_kk``: what the scores tell of each unknown."""
        sys, pat = self.system, self.pattern
        product = self.local * sys.told
        m, off = pat.size, pat.row != pat.column
        local = sums(pat.row, product, m) + sums(pat.column[off], product[off], m)
        local -= np.einsum("ij,ij->i", sys.follow @ sys.border_inverse, sys.follow)
        border = np.einsum("ij,ji->i", sys.border_inverse, sys.border_told)
        centre = np.einsum("ij,ij->i", sys.moved @ sys.middle, sys.moved)
        found: Vector = np.concatenate([local, border]) + centre
        return found

    def traces(self) -> dict[str, float]:
        """``tr(Z' P Z)`` of each term in the model."""
        pat, m = self.pattern, self.pattern.size
        each: dict[str, Callable[[], float]] = {
            SAMPLE: lambda: float(self.left_out_information.sum()),
            FILLING: self._of_fillings,
            ASSESSOR: lambda: self._of(ASSESSOR, pat.of_assessor, m),
            SESSION: lambda: self._of(SESSION, pat.of_session, 0),
            ASSESSOR_SESSION: lambda: self._of(ASSESSOR_SESSION, pat.of_block, 0),
            ASSESSOR_SAMPLE: self._of_cells,
        }
        return {name: each[name]() for name in self.system.ratios}

    def _of(self, name: str, number: Codes, first: int) -> float:
        at = number[number >= 0] + first
        return float(self._told[at].sum()) / self.system.least(name)

    def _of_fillings(self) -> float:
        alone = self.left_out_information[self.pattern.alone].sum()
        return float(alone) + self._of(FILLING, self.pattern.of_filling, 0)

    def _of_cells(self) -> float:
        sys, inner = self.system, ~self.pattern.explicit
        _, total = self._of_cell
        kept, weight = sys.kept[inner], sys.cell_weight[inner]
        found = float(np.sum(kept * (weight - kept * total[inner])))
        return found + self._of(ASSESSOR_SAMPLE, self.pattern.of_cell, self.pattern.size)

    @cached_property
    def left_out_information(self) -> Vector:
        """Diagonal of ``Z' P Z``: the inverse variance of predicting each sample from the rest."""
        found: Vector = self._told[self.system.plan.own] / self.system.sample_variance
        return found

    @cached_property
    def offset_covariance(self) -> Matrix:
        """Covariance of the assessors' offsets."""
        at = self.pattern.of_assessor + self.pattern.size
        wide = self.wide.columns[at]
        found: Matrix = self.system.least(ASSESSOR) * (wide @ self.wide.middle @ wide.T)
        return found


class _Wide:
    """The term of low rank: ``W`` by unknown, and ``O``."""

    def __init__(self, columns: Matrix, middle: Matrix) -> None:
        self.columns, self.middle = columns, middle

    @classmethod
    def of(cls, system: SparseSystem) -> _Wide:
        width = system.pattern.width
        border = np.concatenate([-system.follow, np.eye(width)])
        middle = np.zeros((width + 2, width + 2))
        middle[:width, :width], middle[width:, width:] = system.border_inverse, -system.middle
        return cls(np.concatenate([border, system.moved], axis=1), middle)

    def squares(self, rows: Matrix) -> Vector:
        """``row O row'`` of each row."""
        found: Vector = np.einsum("ij,ij->i", rows @ self.middle, rows)
        return found
