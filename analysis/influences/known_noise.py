"""A mixed model of readings whose noise is known: fitting it, foretelling, leaving out.

A cask has a few traits (its level, what its wood gives), ``t_c = L_c b + u_c``, and a reading of
it is ``y_i = B_i t_c + e_i``. The coefficients are ``b_k ~ N(0, d_k)``, what is particular to a
cask is ``u_c ~ N(0, S)``, ``S = diag(s^2)``, and ``e_i ~ N(0, r_i)`` with `r_i` given. A
coefficient either has a prior variance of its own (infinite for a fixed effect) or shares an
unknown one with the others of its block. Casks are absorbed, so a fit costs what the
coefficients cost; with ``W = B L``::

    V0 = R + B S B'     H = W' V0^-1 W + D^-1     V = V0 + W D W'
    -2 l = log|V0| + log|D| + log|H| + y' V0^-1 y - b' H b

With every prior infinite this is restricted likelihood (Patterson & Thompson 1971).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.linalg

from ..array_types import Codes, Matrix, Stack, Vector
from ..errors import FitError
from .climb import ENOUGH, Place, climbed
from .layout import TraitLayout
from .small import inverses, onto, times

LOG_VARIANCE_RANGE = (-14.0, 9.0)
"""From a thousandth of a point to ninety points of standard deviation."""
OFF_ZERO = 0.5
"""Power of s in its prior. 1 made intervals too wide in trials, .25 too narrow."""


@dataclass(frozen=True)
class Columns:
    """The coefficients: a block of variance each (-1: none), or a prior variance of its own."""

    block: Codes
    prior_variance: Vector

    @cached_property
    def n_blocks(self) -> int:
        """Number of unknown variances among the coefficients."""
        return int(self.block.max(initial=-1)) + 1

    def variances(self, log_variances: Vector) -> Vector:
        """Prior variance of every column, given the logarithms of the unknown ones."""
        found = self.prior_variance.copy()
        pooled = self.block >= 0
        found[pooled] = np.exp(log_variances)[self.block[pooled]]
        return found


@dataclass(frozen=True)
class TraitSolution:
    """The model solved at given variances.

    Attributes
    ----------
    log_variances
        Logarithms of the variances: blocks first, then the bases of the casks.
    coefficients, covariance
        Posterior mean and covariance of `b`, shapes (m,) and (m, m).
    log_likelihood
        Of the readings, constants included.
    own_covariance
        Of what is particular to a cask, given `b`; shape (casks, traits, traits).
    on_traits, on_reading
        ``B' R^-1 B`` and ``B' R^-1 y`` of every cask, shapes (casks, traits, traits) and
        (casks, traits).
    layout
        How the coefficients make up the traits.
    """

    log_variances: Vector
    coefficients: Vector
    covariance: Matrix
    log_likelihood: float
    own_covariance: Stack
    on_traits: Stack
    on_reading: Matrix
    layout: TraitLayout

    @property
    def own_log_variances(self) -> Vector:
        """Log variances of what is particular to a cask, shape (traits,)."""
        return self.log_variances[-self.layout.n_traits :]

    @property
    def own_prior(self) -> Vector:
        """Variances of what is particular to a cask, shape (traits,)."""
        return np.exp(self.own_log_variances)

    def own(self, casks: Codes) -> tuple[Matrix, Stack]:
        """What is particular to some casks given `b`: its mean is ``constant - slope b``.

        Returns the constants, shape (k, traits), and the slopes, shape (k, traits, m).
        """
        k = self.own_covariance[casks]
        constant = np.einsum("clk,ck->cl", k, self.on_reading[casks])
        return constant, k @ self.on_traits[casks] @ self.layout.traits[casks]


@dataclass(frozen=True)
class _Casks:
    """The casks absorbed, casks last: what is particular to each, ``B' V0^-1 B``, ``B' V0^-1 y``.

    `constant` is what they add to minus twice the log-likelihood.
    """

    own: Stack
    left: Stack
    left_of_y: Matrix
    constant: float


@dataclass(frozen=True)
class _Reduced:
    """The system of the coefficients with the casks absorbed; `root` is its Cholesky factor."""

    root: Matrix
    right: Vector
    constant: float
    casks: _Casks


class KnownNoiseModel:
    """Readings and the traits of casks, with the products that every solution shares.

    Parameters
    ----------
    y, noise_variance
        Readings and the variance of their noise, shape (n,).
    bases, cask
        What a point of each trait counts in each reading, shape (n, traits), and the cask of
        each reading, codes from 0 without gaps.
    layout, columns
        How the coefficients make up the traits of each cask, and the priors of the coefficients.
    """

    def __init__(
        self,
        y: Vector,
        noise_variance: Vector,
        bases: Matrix,
        cask: Codes,
        layout: TraitLayout,
        columns: Columns,
    ) -> None:
        self.y, self.noise_variance, self.columns = y, noise_variance, columns
        self.bases, self.cask, self.layout = bases, cask, layout
        order = np.argsort(cask, kind="stable")
        starts = np.flatnonzero(np.diff(cask[order], prepend=-1))
        b, weighted = bases[order], bases[order] / noise_variance[order, None]
        products = b[:, :, None] * weighted[:, None, :]
        self._on_traits: Stack = np.add.reduceat(products, starts, axis=0)
        self._on_reading: Matrix = np.add.reduceat(weighted * y[order, None], starts, axis=0)
        self._traits_last: Stack = np.ascontiguousarray(self._on_traits.transpose(1, 2, 0))
        self._reading_last: Matrix = np.ascontiguousarray(self._on_reading.T)
        self._squares = float((y**2 / noise_variance).sum())
        self._log_noise = float(np.log(noise_variance).sum())

    @property
    def n_variances(self) -> int:
        """Number of unknown variances."""
        return self.columns.n_blocks + int(self.layout.n_traits)

    def solve(self, log_variances: Vector) -> TraitSolution:
        """Solve for all effects at given variances.

        Raises
        ------
        FitError
            If the columns are so alike that there is no solution.
        """
        return self._solved(log_variances, self._reduce(log_variances))

    def _solved(self, log_variances: Vector, reduced: _Reduced) -> TraitSolution:
        c: Matrix = scipy.linalg.cho_solve(
            (reduced.root, True), np.eye(len(reduced.root)), check_finite=False
        )
        return TraitSolution(
            log_variances=log_variances,
            coefficients=c @ reduced.right,
            covariance=c,
            log_likelihood=self._likelihood(reduced),
            own_covariance=reduced.casks.own.transpose(2, 0, 1),
            on_traits=self._on_traits,
            on_reading=self._on_reading,
            layout=self.layout,
        )

    def log_likelihood(self, log_variances: Vector) -> float:
        """Log-likelihood at given variances, constants included."""
        return self._likelihood(self._reduce(log_variances))

    def _reduce(self, log_variances: Vector) -> _Reduced:
        blocks = self.columns.n_blocks
        d = self.columns.variances(log_variances[:blocks])
        casks, known = self._absorbed(log_variances[blocks:]), np.isfinite(d)
        constant = self._log_noise + self._squares + casks.constant
        constant += float(np.log(d[known]).sum())
        constant += (len(self.y) - int((~known).sum())) * float(np.log(2.0 * np.pi))
        h = self.layout.gram(casks.left)
        h[np.diag_indices(len(h))] += 1.0 / d
        return _Reduced(_root(h), self.layout.onto_coefficients(casks.left_of_y.T), constant, casks)

    def _absorbed(self, own_log_variances: Vector) -> _Casks:
        """With ``A = 1 + s T s``, ``T = B' R^-1 B``: ``B' V0^-1 B = s^-1 A^-1 s T``."""
        s, traits, reading = np.exp(0.5 * own_log_variances), self._traits_last, self._reading_last
        scaled = s[:, None, None] * traits * s[:, None]
        scaled[np.diag_indices(len(s))] += 1.0
        inverse, log_det = inverses(scaled)
        own = s[:, None, None] * inverse * s[:, None]
        towards = inverse * (s / s[:, None])[:, :, None]
        drawn = float((onto(own, reading) * reading).sum())
        return _Casks(
            own, times(towards, traits), onto(towards, reading), float(log_det.sum()) - drawn
        )

    def _likelihood(self, reduced: _Reduced) -> float:
        half = scipy.linalg.solve_triangular(
            reduced.root, reduced.right, lower=True, check_finite=False
        )
        log_det = 2.0 * float(np.log(np.diag(reduced.root)).sum())
        return -0.5 * (reduced.constant + log_det - float(half @ half))

    def gradient(self, solution: TraitSolution) -> Vector:
        """Slopes of the log-likelihood by the log variances, blocks first."""
        return self._gradient(solution, self._absorbed(solution.own_log_variances))

    def _gradient(self, solution: TraitSolution, casks: _Casks) -> Vector:
        d = self.columns.variances(solution.log_variances[: self.columns.n_blocks])
        return np.concatenate([self._block_slopes(d, solution), self._own_slopes(solution, casks)])

    def _block_slopes(self, d: Vector, solution: TraitSolution) -> Vector:
        block = self.columns.block
        pooled = block >= 0
        square = np.diag(solution.covariance) + solution.coefficients**2
        each = 1.0 - square[pooled] / d[pooled]
        sums = np.bincount(block[pooled], -0.5 * each, minlength=self.columns.n_blocks)
        return np.asarray(sums, dtype=np.float64)

    def _own_slopes(self, solution: TraitSolution, casks: _Casks) -> Vector:
        """Slopes by the casks' variances: ``tr(P dV)`` less ``y' P dV P y``."""
        left = casks.left
        known = times(self.layout.within(solution.covariance), left)
        trace = np.einsum("llc->l", left) - np.einsum("ljc,jlc->l", left, known)
        squares = (self._unexplained(solution, casks) ** 2).sum(axis=1)
        found: Vector = -0.5 * solution.own_prior * (trace - squares)
        return found

    def _unexplained(self, solution: TraitSolution, casks: _Casks) -> Matrix:
        """``B' P y`` of every cask, shape (traits, casks)."""
        fitted = self.layout.of_coefficients(solution.coefficients).T
        return casks.left_of_y - onto(casks.left, fitted)

    def information(self, solution: TraitSolution) -> Matrix:
        """Average information on the log variances, blocks first."""
        return self._information(solution, self._absorbed(solution.own_log_variances))

    def _information(self, solution: TraitSolution, casks: _Casks) -> Matrix:
        """The same, the casks absorbed.

        ``y' P dV_i P dV_j P y / 2`` (Gilmour, Thompson & Cullis 1995): ``dV_i P y`` is ``B t_i``
        with traits `t_i` that the coefficients of a block make up, or what is a cask's own.
        """
        blocks, n_traits = self.columns.n_blocks, int(self.layout.n_traits)
        of_block = self.columns.block[:, None] == np.arange(blocks)
        pooled = self.layout.flat @ (solution.coefficients[:, None] * of_block)
        t = np.zeros((blocks + n_traits, n_traits, self.layout.n_casks))
        t[:blocks] = pooled.reshape(self.layout.n_casks, n_traits, blocks).transpose(2, 1, 0)
        own = np.arange(n_traits)
        t[blocks + own, own] = solution.own_prior[:, None] * self._unexplained(solution, casks)
        drawn = (casks.left * t[:, None]).sum(axis=2)
        across = self.layout.flat_across @ drawn.transpose(2, 1, 0).reshape(-1, len(t))
        found = t.reshape(len(t), -1) @ drawn.reshape(len(t), -1).T
        found -= across.T @ solution.covariance @ across
        return 0.5 * np.asarray(found, dtype=np.float64)

    def fit(
        self,
        *,
        sd_scale: float | None = None,
        start: Vector | None = None,
        steps: int = 60,
        enough: float = ENOUGH,
    ) -> TraitSolution:
        """Find the variances that the readings make most likely.

        Parameters
        ----------
        sd_scale
            Keeps every standard deviation s off zero by the prior ``s^(1/2) exp(-s^2 / 2
            sd_scale^2)`` (after Chung et al. 2013, Psychometrika 78: 685); None fits by
            likelihood alone.
        start
            Log variances to start from.
        steps
            Steps at most.
        enough
            Log-likelihood that a further step has to promise.
        """

        def place(log_variances: Vector) -> Place[TraitSolution]:
            reduced = self._reduce(log_variances)
            solution = self._solved(log_variances, reduced)
            slope = self._gradient(solution, reduced.casks)
            known = self._information(solution, reduced.casks)
            known[np.diag_indices(len(known))] += _bent(np.maximum(-slope, 0.0))
            value = solution.log_likelihood
            if sd_scale is not None:
                share = np.exp(log_variances) / sd_scale**2
                value += 0.5 * float((OFF_ZERO * log_variances - share).sum())
                slope = slope + 0.5 * (OFF_ZERO - share)
                known[np.diag_indices(len(known))] += 0.5 * share
            return Place(log_variances, value, slope, known, solution)

        at = np.full(self.n_variances, 2.0) if start is None else start
        return climbed(place, at, LOG_VARIANCE_RANGE, steps, enough).found


def _bent(fall: Vector) -> Vector:
    """Curvature of a log variance that falls off with the variance itself, ``l = -a exp(x)``.

    It is as large as the slope; far off it is taken for as much less as the way to where the prior
    holds the slope is longer than one step.
    """
    found: Vector = fall / (1.0 + np.log(np.maximum(fall / (0.5 * OFF_ZERO), 1.0)))
    return found


def _root(h: Matrix) -> Matrix:
    try:
        root: Matrix = scipy.linalg.cholesky(h, lower=True, check_finite=False)
    except np.linalg.LinAlgError as error:
        raise FitError("The influences are so alike that no fit tells them apart.") from error
    return root
