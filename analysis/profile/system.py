"""The equations of one descriptor at given variances, solved exactly by one dense factor.

The model is that of :mod:`analysis.profile.equations`. Three steps, none of which divides by a
ratio, so that any of them may be exactly zero:

1. cells are absorbed one by one;
2. given samples and sessions the assessors are independent, so the blocks of each (``a_j + o_b``
   as one nested effect) are absorbed by a small dense factor of his own;
3. what is left, samples, sessions, gamma and mu, is one dense Cholesky factor.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse

from ..array_types import Codes, Matrix, Vector
from .equations import Equations, Solution
from .layout import ModelLayout, sums
from .lower import cast, cholesky, solved
from .terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    ASSESSOR_SESSION,
    SESSION,
)

_SMALL = 100_000
"""Entries of a table up to which its zeros are multiplied sooner than passed over."""


@dataclass(frozen=True)
class Fold:
    """What is left of one assessor once his blocks are absorbed.

    Attributes
    ----------
    info
        Information on his block effects, blocks by blocks.
    spread
        ``root L^-T``, a root of `covariance`.
    covariance
        Of his blocks given samples and sessions.
    log_determinant
        Of his factor, ``log|L|``.
    """

    info: Matrix
    spread: Matrix
    covariance: Matrix
    log_determinant: float


@dataclass(frozen=True)
class Half:
    """A right-hand side on its way through the factors; inner products are sums of squares.

    Attributes
    ----------
    on_blocks, given
        The side of the blocks, and what it makes of them by itself.
    rest
        The side of the rest, blocks absorbed, halfway through the last factor.
    """

    on_blocks: Matrix
    given: Matrix
    rest: Matrix

    def gram(self, other: Half) -> Matrix:
        """Inner products of the columns of two."""
        found: Matrix = self.rest.T @ other.rest + self.on_blocks.T @ other.given
        return found


class System(Equations):
    """Equations at one set of ratios, scales and weights.

    Parameters
    ----------
    layout
        The glasses.
    covariates
        Columns of ``x``, shape (samples, p); p may be zero.
    ratios
        Variance of each term in the model over ``s^2``; a term without one is absent.
    scale
        ``g`` of each assessor.
    weight
        ``w`` of each glass.
    single
        Hold the large matrices in single precision: to four digits of an estimate, in half of
        the time and memory.
    """

    def __init__(
        self,
        layout: ModelLayout,
        covariates: Matrix,
        ratios: Mapping[str, float],
        scale: Vector,
        weight: Vector,
        *,
        single: bool = False,
    ) -> None:
        super().__init__(layout, ratios, scale, weight, covariates.shape[1])
        self.covariates = covariates
        by_cell = self.cell_scale**2 * self.cell_weight * self.kept
        self.sample_info = sums(layout.cell_sample, by_cell, self.n)
        self.cross = (self.cell_scale * self.kept)[layout.meeting_cell] * self.meeting_weight
        self.precision = np.dtype(np.float32 if single else np.float64)
        self.folds = tuple(self._fold(j) for j in range(layout.glasses.n_assessors))
        self.reach = self._reach()
        self._factorise()

    @property
    def n_random(self) -> int:
        """Unknowns with a prior: samples (unless fixed) and sessions."""
        return (self.n if self.has_samples else 0) + self.n_sessions

    @property
    def session_sd(self) -> float:
        """Root of the sessions' ratio."""
        return math.sqrt(self.ratios[SESSION])

    @property
    def log_determinant(self) -> float:
        """``log|V| + log|X' V^-1 X|`` in units of ``s^2``."""
        found = np.log(np.diag(self.factor)).sum() + sum(f.log_determinant for f in self.folds)
        return float(2.0 * found - np.log(self.kept).sum() - np.log(self.weight).sum())

    def _fold(self, j: int) -> Fold:
        """Absorb the blocks of an assessor."""
        lay, at = self.layout, self.layout.assessors[j]
        own = self.meeting_weight[at.meetings]
        block = lay.meeting_block[at.meetings] - at.blocks.start
        info: Matrix = np.diag(sums(block, own, len(at.sessions)))
        if ASSESSOR_SAMPLE in self.ratios:
            root = np.sqrt(self.kappa)[lay.meeting_cell[at.meetings]]
            met = lay.by_cell(j, own * root)
            table = met.toarray()
            info -= (table if table.size <= _SMALL else met).T @ table
        own_sd, shared = self._block_root(len(at.sessions))
        totals = shared * info.sum(axis=0)
        inner = own_sd**2 * info + own_sd * (totals + totals[:, None]) + shared * totals.sum()
        inner[np.diag_indices_from(inner)] += 1.0
        factor = cholesky(inner)
        spread = solved(factor, own_sd * np.eye(len(inner)) + shared).T
        return Fold(info, spread, spread @ spread.T, float(np.log(np.diag(factor)).sum()))

    def _block_root(self, k: int) -> tuple[float, float]:
        """Root of the covariance of k blocks: so much on the diagonal, and so much everywhere."""
        inner = self.ratios.get(ASSESSOR_SESSION, 0.0)
        outer = self.ratios.get(ASSESSOR, 0.0)
        return math.sqrt(inner), (math.sqrt(inner + k * outer) - math.sqrt(inner)) / k

    def _reach(self) -> Matrix:
        """How blocks follow (samples, sessions, mu): covariance times shared information."""
        lay, n = self.layout, self.n
        found = np.zeros((lay.n_blocks, n + self.n_sessions + 1), self.precision)
        for j, (at, fold) in enumerate(zip(lay.assessors, self.folds, strict=True)):
            met = lay.by_sample(j, cast(self.cross[at.meetings], self.precision))
            rows = found[at.blocks]
            rows[:, :n] = (met @ cast(fold.covariance, self.precision)).T
            own = fold.covariance @ fold.info
            if self.n_sessions:
                rows[:, n + at.sessions] = own
            rows[:, -1] = own.sum(axis=1)
        return found

    def _factorise(self) -> None:
        full = self._absorbed()
        self._add_rest_information(full)
        if self.p or self.samples.outer:
            full = cast(self.to_unknowns(self.to_unknowns(full).T), self.precision)
        else:
            full = self._scaled(full)
        inner = np.arange(self.n_random)
        full[inner, inner] += 1.0
        self.factor = cholesky(full)

    def _absorbed(self) -> Matrix:
        """What absorbing the blocks takes off the information on (samples, sessions, mu).

        Session by session: nobody scores more than a fraction of the samples in one.
        """
        lay, n, cross = self.layout, self.n, cast(self.cross, self.precision)
        full = np.zeros((self.reach.shape[1], self.reach.shape[1]), self.precision)
        for part in lay.sessions:
            full[part.samples] -= part.table(cross) @ self.reach[part.blocks]
        for at, fold in zip(lay.assessors, self.folds, strict=True):
            pulled = fold.info @ self.reach[at.blocks, n:]
            if self.n_sessions:
                full[n + at.sessions, n:] -= pulled
            full[-1, n:] -= pulled.sum(axis=0)
        full[n:, :n] = full[:n, n:].T
        return full

    def _scaled(self, full: Matrix) -> Matrix:
        """The same as going to the unknowns twice, where that is only a scaling."""
        n = self.n
        if self.has_samples:
            full[:n] -= full[:n].mean(axis=0)
            full[:, :n] -= full[:, :n].mean(axis=1, keepdims=True)
        scale = np.ones(len(full), full.dtype)
        scale[:n] = np.sqrt(self.samples.inner)
        if self.n_sessions:
            scale[n:-1] = self.session_sd
        full *= scale
        full *= scale[:, None]
        return full if self.has_samples else full[n:, n:].copy()

    def _add_rest_information(self, to: Matrix) -> None:
        """Add the information on (samples, sessions, mu) before the blocks are absorbed."""
        lay, n, last = self.layout, self.n, self.n + self.n_sessions
        each = np.arange(n)
        to[each, each] += self.sample_info
        totals = sums(lay.meeting_sample, self.cross, n)
        to[:n, last] += totals
        to[last, :n] += totals
        if self.n_sessions:
            joint = lay.meeting_sample * self.n_sessions + lay.block_session[lay.meeting_block]
            shared = sums(joint, self.cross, n * self.n_sessions).reshape(n, self.n_sessions)
            to[:n, n:last] += shared
            to[n:last, :n] += shared.T
        for at, fold in zip(lay.assessors, self.folds, strict=True):
            columns, totals = n + at.sessions, fold.info.sum(axis=1)
            if self.n_sessions:
                to[np.ix_(columns, columns)] += fold.info
                to[columns, last] += totals
                to[last, columns] += totals
            to[last, last] += totals.sum()

    def to_unknowns(self, natural: Matrix) -> Matrix:
        """From rows (samples, sessions, mu) to those of the unknowns that are solved for.

        They are standardised samples, standardised sessions, gamma and mu.
        """
        n, last = self.n, self.n + self.n_sessions
        parts = []
        if self.has_samples:
            parts.append(self.samples.root(natural[:n] - natural[:n].mean(axis=0)))
        if self.n_sessions:
            parts.append(self.session_sd * natural[n:last])
        if self.p:
            parts.append(self.covariates.T @ natural[:n])
        return np.concatenate([*parts, natural[last:]])

    def to_natural(self, unknowns: Matrix) -> Matrix:
        """From unknowns to (samples, sessions, mu)."""
        tau = self.u_of(unknowns)
        at = self.n_random
        if self.p:
            tau = tau + self.covariates @ unknowns[at : at + self.p]
        parts = [tau]
        if self.n_sessions:
            parts.append(self.session_sd * unknowns[at - self.n_sessions : at])
        return np.concatenate([*parts, unknowns[at + self.p :]])

    def u_of(self, unknowns: Matrix) -> Matrix:
        """Samples without their covariates, about their mean."""
        if self.has_samples:
            found = self.samples.root(unknowns[: self.n])
            found -= found.mean(axis=0)
            return found
        return np.zeros((self.n, *unknowns.shape[1:]))

    def half(self, on_samples: Matrix, on_blocks: Matrix) -> Half:
        """Take right-hand sides, samples and blocks by columns, halfway through."""
        lay = self.layout
        each = list(zip(lay.assessors, self.folds, strict=True))
        given = np.concatenate([fold.covariance @ on_blocks[at.blocks] for at, fold in each])
        if self._is_quick(on_blocks):
            natural = self._from_blocks(on_samples, on_blocks) - self.reach.T @ on_blocks
        else:
            pulled = np.concatenate([fold.info @ given[at.blocks] for at, fold in each])
            natural = self._from_blocks(on_samples - self.met.T @ given, on_blocks - pulled)
        return Half(on_blocks, given, solved(self.factor, self.to_unknowns(natural)))

    def _is_quick(self, rows: Matrix) -> bool:
        """Whether a column of a small panel, for which one table is quicker than many parts."""
        return rows.ndim == 1 and self.reach.size <= _SMALL

    def _from_blocks(self, on_samples: Matrix, on_blocks: Matrix) -> Matrix:
        """Rows (samples, sessions, mu) when what is on the blocks is on sessions and mu too."""
        sessions = self.layout.over_sessions @ on_blocks if self.n_sessions else on_blocks[:0]
        return np.concatenate([on_samples, sessions, on_blocks.sum(axis=0, keepdims=True)])

    def solve(self, y: Vector) -> Solution:
        """Predict every effect."""
        lay, g, w = self.layout, self.layout.glasses, self.weight
        centre = float(np.average(y, weights=w))
        y = y - centre
        cell_sum = sums(lay.cell, w * y, lay.n_cells)
        score = w * (y - (self.kappa * cell_sum)[lay.cell])
        on_samples = sums(g.sample, self.scale[g.assessor] * score, self.n)
        half = self.half(on_samples, sums(lay.block, score, lay.n_blocks))
        x = cast(solved(self.factor, half.rest, transposed=True), np.float64)
        natural = self.to_natural(x)
        n, at = self.n, self.n_random
        session = natural[n:-1] if self.n_sessions else np.zeros(g.n_sessions)
        own = half.given + self.blocks_of(natural)
        block = own + session[lay.block_session] + natural[-1]
        left = y - self.scale[g.assessor] * natural[:n][g.sample] - block[lay.block]
        cell = self.kappa * sums(lay.cell, w * left, lay.n_cells)
        left = left - cell[lay.cell]
        return Solution(
            tau=natural[:n],
            u=self.u_of(x),
            gamma=x[at : at + self.p],
            session=session,
            mu=float(natural[-1]) + centre,
            own=own,
            block=block + centre,
            cell=cell,
            left=left,
            squares=float(np.sum(w * y * left)),
        )

    def gram(self, columns: Matrix) -> Matrix:
        """``f' P f`` of columns that say one number a meeting."""
        lay = self.layout
        weighed = self.meeting_weight[:, None] * columns
        cell = _sums(lay.meeting_cell, weighed, lay.n_cells) * self.kappa[:, None]
        pulled = weighed - self.meeting_weight[:, None] * cell[lay.meeting_cell]
        scale = self.scale[lay.meeting_assessor][:, None]
        on_samples = _sums(lay.meeting_sample, scale * pulled, self.n)
        half = self.half(on_samples, _sums(lay.meeting_block, pulled, lay.n_blocks))
        found: Matrix = columns.T @ pulled - half.gram(half)
        return found

    def gamma_covariance(self) -> Matrix:
        """Covariance of gamma in units of ``s^2``."""
        at = slice(self.n_random, self.n_random + self.p)
        unit = np.zeros((len(self.factor), self.p))
        unit[at] = np.eye(self.p)
        half = cast(solved(self.factor, unit), np.float64)
        found: Matrix = half.T @ half
        return found

    @cached_property
    def met(self) -> scipy.sparse.csr_matrix:
        """Information between blocks and samples."""
        return self.layout.by_block(self.cross)

    def blocks_of(self, natural: Matrix) -> Matrix:
        """How the own part of each block follows the rest."""
        if self._is_quick(natural):
            return -(self.reach @ natural)
        lay = self.layout
        about = natural[-1] + np.zeros((lay.n_blocks, *natural.shape[1:]))
        if self.n_sessions:
            about += natural[self.n : -1][lay.block_session]
        on_samples = self.met @ natural[: self.n]
        found: Matrix = np.empty_like(about)
        for at, fold in zip(lay.assessors, self.folds, strict=True):
            moved = on_samples[at.blocks] + fold.info @ about[at.blocks]
            found[at.blocks] = -(fold.covariance @ moved)
        return found


def _sums(codes: Codes, rows: Matrix, size: int) -> Matrix:
    """Sum rows by code."""
    return np.column_stack([sums(codes, column, size) for column in rows.T])
