"""What is uncertain about the effects at given variances: second moments and traces.

The covariance of the rest (samples, sessions, gamma, mu) given the scores is ``C = H^-1``. It
is held as columns ``D`` with ``D D' = C``: exactly, one column an unknown, where there are few
unknowns; else as a fixed number of random ones whose squares are right on average. Sums over
hundreds of samples need no more, and what one standard error needs is computed exactly
elsewhere. Cells and blocks given the rest are exact in both cases.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, cached_property

import numpy as np

from ..array_types import Matrix, Vector
from .dense_errors import prediction_errors
from .equations import PredictionErrors, SecondMoments, assessor_share
from .layout import sums
from .lower import cast, solved
from .panel_weights import PanelWeights
from .system import System
from .terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    ASSESSOR_SESSION,
    FILLING,
    SAMPLE,
    SESSION,
)

EXACT_UP_TO = 300
"""Unknowns up to which the covariance is held exactly."""
N_COLUMNS = 48
_WELL_KNOWN = 1e-2
"""Ratio times information above which a trace is taken from the prior's side."""


class Moments(SecondMoments):
    """Second moments of the effects at one system, in units of ``s^2``."""

    def __init__(self, system: System) -> None:
        self._system, self.layout = system, system.layout
        size = len(system.factor)
        self.exact = size <= EXACT_UP_TO
        noise = np.eye(size) if self.exact else _columns(size)
        self.unknowns = solved(system.factor, noise, transposed=True)
        natural = system.to_natural(self.unknowns)
        n = system.n
        self.tau = natural[:n]
        self.own = system.blocks_of(natural)
        session = natural[n:-1][self.layout.block_session] if system.n_sessions else 0.0
        self.block = self.own + session + natural[-1]
        self.tau_variance = cast(np.einsum("im,im->i", self.tau, self.tau), np.float64)
        self._meet()

    @property
    def system(self) -> System:
        """The equations."""
        return self._system

    def prediction_errors(self, panel: PanelWeights) -> PredictionErrors:
        """How far off the mean score of a panel is predicted."""
        sys, lay = self.system, self.layout
        variance, of_sum = prediction_errors(sys, panel)
        alone = sums(lay.cell_sample, panel.cell**2 * sys.kappa, sys.n)
        return PredictionErrors(variance, of_sum, alone, float(panel.assessor**2 @ panel.own))

    def _meet(self) -> None:
        """Covariances at each meeting and their weighted sums over each cell.

        With ``f = g tau + block`` at the meetings of a cell: `with_tau` is cov(tau, block),
        `of_block` var(block), `across` the weighted sum of cov(block, block') over the cell.
        """
        lay, sys = self.layout, self.system
        with_tau, of_block = np.empty(lay.n_meetings), np.empty(lay.n_meetings)
        across = np.empty(lay.n_meetings)
        weight, block = sys.meeting_weight, cast(self.block, self.tau.dtype)
        for part in lay.sessions:
            together = self.tau[part.samples] @ block[part.blocks].T
            with_tau[part.meetings] = part.gather(together)
        for j, (at, fold) in enumerate(zip(lay.assessors, sys.folds, strict=True)):
            column = lay.meeting_block[at.meetings] - at.blocks.start
            own = self.block[at.blocks]
            covariance = fold.covariance + own @ own.T
            of_block[at.meetings] = np.diag(covariance)[column]
            cell = lay.meeting_cell[at.meetings] - at.cells.start
            across[at.meetings] = (lay.by_cell(j, weight[at.meetings]) @ covariance)[cell, column]
        self.with_tau, self.of_block, self.across = with_tau, of_block, across
        cell = lay.meeting_cell
        self.cell_with_tau = sums(cell, weight * with_tau, lay.n_cells)
        self.cell_tau = self.tau_variance[lay.cell_sample]
        self.cell_total = (
            sys.cell_scale**2 * self.cell_tau * sys.cell_weight**2
            + 2.0 * sys.cell_scale * sys.cell_weight * self.cell_with_tau
            + sums(cell, weight * across, lay.n_cells)
        )

    @cached_property
    def fitted_variance(self) -> Vector:
        """Variance of what is fitted, cell effect and all, at each meeting."""
        lay, sys = self.layout, self.system
        cell, g = lay.meeting_cell, sys.cell_scale[lay.meeting_cell]
        tau = self.cell_tau[cell]
        own = g**2 * tau + 2.0 * g * self.with_tau + self.of_block
        shared = (
            sys.cell_weight[cell] * (g**2 * tau + g * self.with_tau)
            + g * self.cell_with_tau[cell]
            + self.across
        )
        kappa = sys.kappa[cell]
        found: Vector = own + kappa * (1.0 - 2.0 * shared + kappa * self.cell_total[cell])
        return found

    @cached_property
    def tau_with_fitted(self) -> Vector:
        """``cov(tau, fitted)`` at each meeting, cell effect and all."""
        lay, sys = self.layout, self.system
        scale = sys.cell_scale
        moved = sys.kappa * (scale * sys.cell_weight * self.cell_tau + self.cell_with_tau)
        found: Vector = self.with_tau + (scale * self.cell_tau - moved)[lay.meeting_cell]
        return found

    @cached_property
    def offset_covariance(self) -> Matrix:
        """Covariance of the assessors' offsets."""
        sys, lay = self.system, self.layout
        share, own = assessor_share(sys)
        given = np.array([np.sum(fold.spread.sum(axis=0) ** 2) for fold in sys.folds])
        moved = np.array([self.own[part.blocks].sum(axis=0) for part in lay.assessors])
        moved = share[:, None] * moved
        found: Matrix = np.diag(own + share**2 * given) + moved @ moved.T
        return found

    def traces(self) -> dict[str, float]:
        """``tr(Z' P Z)`` of each term in the model."""
        each: dict[str, Callable[[], float]] = {
            SAMPLE: lambda: float(self._of_samples[0].sum()),
            FILLING: lambda: self._of_samples[1],
            ASSESSOR: self._of_assessors,
            SESSION: self._of_sessions,
            ASSESSOR_SESSION: lambda: float(self._blocks_known.sum() - np.sum(self._score**2)),
            ASSESSOR_SAMPLE: self._of_cells,
        }
        return {name: each[name]() for name in self.system.ratios}

    def _prefer_prior(self, ratio: float, information: float) -> bool:
        """Whether a trace is better taken from the prior's side.

        ``Z'PZ`` is the prior's precision less what the scores tell, or the information less
        what is known otherwise; random columns spoil the difference of two large numbers.
        """
        return not self.exact and ratio * information > _WELL_KNOWN

    @property
    def left_out_information(self) -> Vector:
        """Diagonal of ``Z' P Z``."""
        return self._of_samples[0]

    @cached_property
    def _of_samples(self) -> tuple[Vector, float]:
        """``Z' P Z`` by sample, and its sum within fillings."""
        sys = self.system
        prior = sys.samples
        if self._prefer_prior(prior.inner, float(sys.sample_info.mean())):
            moved = prior.inverse_root(self.unknowns[: sys.n])
            own = prior.inverse_diagonal - np.sum(moved**2, axis=1)
            within = prior.inverse_sum - float(np.sum(prior.totals(moved) ** 2))
            return own, within
        score = sys.sample_info[:, None] * self.tau
        own, within = prior.centred(sys.sample_info)
        for j, (at, fold) in enumerate(zip(self.layout.assessors, sys.folds, strict=True)):
            met = self.layout.by_sample(j, sys.cross[at.meetings])
            score += met @ self.block[at.blocks]
            given = met @ fold.spread
            given -= given.mean(axis=0)
            own -= np.sum(given**2, axis=1)
            within -= float(np.sum(prior.totals(given) ** 2))
        score -= score.mean(axis=0)
        within -= float(np.sum(prior.totals(score) ** 2))
        return own - np.sum(score**2, axis=1), within

    @cached_property
    def _score(self) -> Matrix:
        """How the score of each block moves with the rest; blocks by columns."""
        lay, sys = self.layout, self.system
        own = [
            fold.info @ self.block[at.blocks]
            for at, fold in zip(lay.assessors, sys.folds, strict=True)
        ]
        found: Matrix = sys.met @ self.tau + np.concatenate(own)
        return found

    @cached_property
    def _blocks_known(self) -> Vector:
        """Information on each block, less what moves with the blocks of the same assessor."""
        parts = [
            np.diag(fold.info) - np.sum((fold.info @ fold.spread) ** 2, axis=1)
            for fold in self.system.folds
        ]
        return np.concatenate(parts)

    def _of_sessions(self) -> float:
        sys, count = self.system, self.system.n_sessions
        ratio = sys.ratios[SESSION]
        information = sum(float(np.trace(fold.info)) for fold in sys.folds)
        if self._prefer_prior(ratio, information / count):
            known = self.unknowns[sys.n_random - count : sys.n_random]
            return (count - float(np.sum(known**2))) / ratio
        totals = self.layout.over_sessions @ self._score
        return float(self._blocks_known.sum() - np.sum(totals**2))

    def _of_assessors(self) -> float:
        sys, lay = self.system, self.layout
        ratio = sys.ratios[ASSESSOR]
        totals = np.array([fold.info.sum() for fold in sys.folds])
        if self._prefer_prior(ratio, float(totals.mean())):
            share, own = assessor_share(sys)
            given = np.array([np.sum(fold.spread.sum(axis=0) ** 2) for fold in sys.folds])
            moved = np.array([np.sum(self.own[at.blocks].sum(axis=0) ** 2) for at in lay.assessors])
            variance = own + share**2 * (given + moved)
            return float(np.sum(1.0 - variance / ratio) / ratio)
        found = 0.0
        for at, fold in zip(lay.assessors, sys.folds, strict=True):
            found += fold.info.sum() - np.sum((fold.info.sum(axis=0) @ fold.spread) ** 2)
            found -= np.sum(self._score[at.blocks].sum(axis=0) ** 2)
        return float(found)

    def _of_cells(self) -> float:
        sys = self.system
        return float(np.sum(sys.kept * (sys.cell_weight - sys.kept * self.cell_total)))


@cache
def _columns(size: int) -> Matrix:
    """Random columns whose squares add up to the identity on average; always the same."""
    signs = np.random.default_rng(20).integers(0, 2, (size, N_COLUMNS)) * 2.0 - 1.0
    found: Matrix = signs / np.sqrt(N_COLUMNS)
    return found
