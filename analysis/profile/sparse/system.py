"""The equations of a large house at given variances: a sparse factor with a dense border.

With ``Z`` the standardised unknowns of each meeting, ``K`` what its glasses weigh once the cells
are absorbed, and samples about their mean (``p'x`` of the unknowns)::

    H = (Z - g p')' K (Z - g p') + D = H_0 + U C U'     U = [p, q], q = Z'K g, c = g'K g

``H_0`` is sparse but for its border, and taking the mean out a term of rank two. A ratio of
nothing is taken for next to nothing, so that what would be gained by one is still known.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property

import numpy as np
import scipy.sparse

from ...array_types import Codes, Matrix, Vector
from ..equations import Equations, Solution
from ..layout import sums
from ..lower import cholesky
from ..terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    ASSESSOR_SESSION,
    FILLING,
    SAMPLE,
    SESSION,
)
from .pattern import MU, MUCH, A, B, D, F, S, U
from .plan import Plan

NEXT_TO_NOTHING = 1e-16
"""Least ratio."""


class SparseSystem(Equations):
    """Equations at one set of ratios, scales and weights.

    Parameters
    ----------
    plan
        The unknowns of this layout and these terms.
    ratios, scale, weight
        As in `System`.
    """

    def __init__(
        self, plan: Plan, ratios: Mapping[str, float], scale: Vector, weight: Vector
    ) -> None:
        super().__init__(plan.pattern.layout, ratios, scale, weight)
        self.plan, self.pattern = plan, plan.pattern
        self._deviate()
        self._value()
        self._weigh()
        self._factorise()
        self._centre()

    def least(self, name: str) -> float:
        """Ratio of a term, or next to nothing."""
        return max(self.ratios.get(name, 0.0), NEXT_TO_NOTHING)

    def _deviate(self) -> None:
        """Variances and sds of the unknowns."""
        own, shared = self.least(SAMPLE), self.ratios.get(FILLING, 0.0)
        self.sample_variance = np.where(self.pattern.alone, own + shared, own)
        self.sample_sd = np.sqrt(self.sample_variance)
        self.filling_sd = math.sqrt(self.least(FILLING))
        self.absorbed = np.where(self.pattern.explicit, 0.0, self.kappa)

    def _value(self) -> None:
        """``Z``, its local half as values a meeting, and the mean of the samples."""
        lay, n = self.layout, self.layout.n_meetings
        self.on_scale = self.scale[lay.meeting_assessor]
        evening, own = (math.sqrt(self.least(t)) for t in (SESSION, ASSESSOR_SESSION))
        self.local_sd = np.empty((n, 4))
        self.local_sd[:, U] = self.sample_sd[lay.meeting_sample]
        self.local_sd[:, F] = self.filling_sd
        self.local_sd[:, S], self.local_sd[:, B] = evening, own
        self.local = self.local_sd.copy()
        self.local[:, : F + 1] *= self.on_scale[:, None]
        border = np.empty((n, 4))
        border[:, MU], border[:, MUCH] = 1.0, self.local[:, U]
        border[:, A], border[:, D] = (math.sqrt(self.least(t)) for t in (ASSESSOR, ASSESSOR_SAMPLE))
        self.z = self.plan.meetings(np.concatenate([self.local, border], axis=1))
        self.mean = self.plan.mean(self.sample_sd, self.filling_sd)

    def _weigh(self) -> None:
        """``K``: what each link of meetings weighs."""
        pat, cell, w = self.pattern, self.layout.meeting_cell, self.meeting_weight
        self.by_link = -self.absorbed[cell[pat.a]] * w[pat.a] * w[pat.b]
        self.by_link[: len(w)] += w
        self.k = self.plan.between(self.by_link)

    def _factorise(self) -> None:
        """Factor the local unknowns, and the border once these follow it."""
        m = self.pattern.size
        combos, local = self.pattern.combos, self.local.ravel()
        product = self.by_link[combos.link] * local[combos.first] * local[combos.second]
        self.told = sums(combos.slot, product * combos.times, len(self.pattern.keys))
        values = self.told.copy()
        values[self.pattern.diagonal] += 1.0
        self.factor = self.plan.ordering.factored(values)
        on_border = (self.z.T @ (self.k @ self.z[:, m:])).toarray()
        edge, own = on_border[:m], on_border[m:]
        self.follow = self.factor.solve(edge)
        self.border_told = own - edge.T @ self.follow
        full = self.border_told.copy()
        inner = np.arange(1, len(full))
        full[inner, inner] += 1.0
        self.border_inverse: Matrix = np.linalg.inv(full).astype(np.float64)
        self.border_factor = cholesky(full)

    def _centre(self) -> None:
        """The term of rank two that takes the mean of the samples out."""
        g = self.on_scale
        pulled = self.k @ g
        sides = np.stack([self.mean, self.z.T @ pulled], axis=1)
        self.moved = self._solved(sides)
        met = sides.T @ self.moved
        square = float(g @ pulled)
        middle = np.linalg.inv(np.array([[0.0, -1.0], [-1.0, -square]]) + met)
        self.middle: Matrix = middle.astype(np.float64)
        centre = np.eye(2) + np.array([[square, -1.0], [-1.0, 0.0]]) @ met
        self._log_centre = math.log(abs(float(np.linalg.det(centre))))

    def _solved(self, right: Matrix) -> Matrix:
        """``H_0^-1 right``."""
        m = self.pattern.size
        below = self.border_inverse @ (right[m:] - self.follow.T @ right[:m])
        return np.concatenate([self.factor.solve(right[:m]) - self.follow @ below, below])

    def solved(self, right: Matrix) -> Matrix:
        """``H^-1 right``, one column or several."""
        found: Matrix = self._solved(right)
        found -= self.moved @ (self.middle @ (self.moved.T @ right))
        return found

    @property
    def log_determinant(self) -> float:
        """``log|V| + log|X' V^-1 X|`` in units of ``s^2``."""
        border = 2.0 * float(np.log(np.diag(self.border_factor)).sum())
        found = self.factor.log_determinant + border + self._log_centre
        found -= float(np.log(self.kept[~self.pattern.explicit]).sum())
        return found - float(np.log(self.weight).sum())

    def solve(self, y: Vector) -> Solution:
        """Predict every effect."""
        lay, g, w = self.layout, self.layout.glasses, self.weight
        centre = float(np.average(y, weights=w))
        y = y - centre
        cell_sum = sums(lay.cell, w * y, lay.n_cells)
        score = sums(lay.meeting, w * (y - (self.absorbed * cell_sum)[lay.cell]), lay.n_meetings)
        x = self.solved(self.z.T @ score - self.mean * float(self.on_scale @ score))
        tau = self.tau_of @ x - float(self.mean @ x)
        session, own, mu, opinion = self._of_blocks(x)
        block = own + session[lay.block_session] + mu
        left = y - self.scale[g.assessor] * tau[g.sample] - block[lay.block]
        cell = opinion + self.absorbed * sums(lay.cell, w * (left - opinion[lay.cell]), lay.n_cells)
        left = left - cell[lay.cell]
        squares = float(np.sum(w * y * left))
        none = np.empty(0)
        return Solution(
            tau, tau, none, session, mu + centre, own, block + centre, cell, left, squares
        )

    def _of_blocks(self, x: Vector) -> tuple[Vector, Vector, float, Vector]:
        """Of a solution: sessions, the own part of blocks, mu, and opinions in the border."""
        pat, border = self.pattern, x[self.pattern.size :]
        session = _at(x, pat.of_session, math.sqrt(self.least(SESSION)))
        own = _at(x, pat.of_block, math.sqrt(self.least(ASSESSOR_SESSION)))
        offset = _at(border, pat.of_assessor, math.sqrt(self.least(ASSESSOR)))
        opinion = _at(border, pat.of_cell, math.sqrt(self.least(ASSESSOR_SAMPLE)))
        return session, own + offset[self.layout.block_assessor], float(border[0]), opinion

    def gram(self, columns: Matrix) -> Matrix:
        """``f' P f`` of columns that say one number a meeting."""
        pulled = self.k @ columns
        right = self.z.T @ pulled - np.outer(self.mean, self.on_scale @ pulled)
        found: Matrix = columns.T @ pulled - right.T @ self.solved(right)
        return found

    def gamma_covariance(self) -> Matrix:
        """There are no covariates."""
        return np.empty((0, 0))

    @cached_property
    def tau_of(self) -> scipy.sparse.csr_matrix:
        """How the samples, not yet about their mean, are made of the unknowns."""
        return self.plan.samples(self.sample_sd, self.filling_sd)


def _at(x: Vector, number: Codes, sd: float) -> Vector:
    """Unknowns in their own units; 0 where a level has none."""
    found: Vector = np.where(number >= 0, sd * x[number], 0.0)
    return found
