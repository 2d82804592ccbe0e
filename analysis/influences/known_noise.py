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
from .layout import TraitLayout

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
    def own_prior(self) -> Vector:
        """Variances of what is particular to a cask, shape (traits,)."""
        return np.exp(self.log_variances[-self.layout.n_traits :])

    def own(self, casks: Codes) -> tuple[Matrix, Stack]:
        """What is particular to some casks given `b`: its mean is ``constant - slope b``.

        Returns the constants, shape (k, traits), and the slopes, shape (k, traits, m).
        """
        k = self.own_covariance[casks]
        constant = np.einsum("clk,ck->cl", k, self.on_reading[casks])
        return constant, k @ self.on_traits[casks] @ self.layout.traits[casks]


@dataclass(frozen=True)
class WithoutGroup:
    """Readings foretold without their own group.

    Attributes
    ----------
    residual, variance
        Reading less what was foretold, and its variance with the noise of the reading in it,
        shape (n,).
    log_density
        Of the readings of each group given all others, shape (groups,).
    """

    residual: Vector
    variance: Vector
    log_density: Vector


@dataclass(frozen=True)
class _Reduced:
    """The system of the coefficients with the casks absorbed; `root` is its Cholesky factor."""

    root: Matrix
    right: Vector
    constant: float
    own: Stack


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
        reduced = self._reduce(log_variances)
        c: Matrix = scipy.linalg.cho_solve(
            (reduced.root, True), np.eye(len(reduced.root)), check_finite=False
        )
        return TraitSolution(
            log_variances=log_variances,
            coefficients=c @ reduced.right,
            covariance=c,
            log_likelihood=self._likelihood(reduced),
            own_covariance=reduced.own,
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
        s = np.exp(0.5 * log_variances[blocks:])
        scaled = np.eye(len(s)) + s[:, None] * self._on_traits * s
        own = s[:, None] * np.linalg.inv(scaled) * s
        known = np.isfinite(d)
        constant = self._log_noise + float(np.linalg.slogdet(scaled)[1].sum())
        constant += float(np.log(d[known]).sum()) + self._squares
        constant -= float(np.einsum("cl,clk,ck->", self._on_reading, own, self._on_reading))
        constant += (len(self.y) - int((~known).sum())) * float(np.log(2.0 * np.pi))
        left, left_of_y = self._left(own)
        h = self.layout.gram(left) + np.diag(1.0 / d)
        return _Reduced(_root(h), self.layout.onto_coefficients(left_of_y), constant, own)

    def _left(self, own: Stack) -> tuple[Stack, Matrix]:
        """``B' V0^-1 B`` and ``B' V0^-1 y`` of every cask."""
        drawn = self._on_traits @ own
        left_of_y = self._on_reading - np.einsum("clk,ck->cl", drawn, self._on_reading)
        return self._on_traits - drawn @ self._on_traits, left_of_y

    def _likelihood(self, reduced: _Reduced) -> float:
        half = scipy.linalg.solve_triangular(
            reduced.root, reduced.right, lower=True, check_finite=False
        )
        log_det = 2.0 * float(np.log(np.diag(reduced.root)).sum())
        return -0.5 * (reduced.constant + log_det - float(half @ half))

    def gradient(self, solution: TraitSolution) -> Vector:
        """Slopes of the log-likelihood by the log variances, blocks first."""
        d = self.columns.variances(solution.log_variances[: self.columns.n_blocks])
        return np.concatenate([self._block_slopes(d, solution), self._own_slopes(solution)])

    def _block_slopes(self, d: Vector, solution: TraitSolution) -> Vector:
        block = self.columns.block
        pooled = block >= 0
        square = np.diag(solution.covariance) + solution.coefficients**2
        each = 1.0 - square[pooled] / d[pooled]
        sums = np.bincount(block[pooled], -0.5 * each, minlength=self.columns.n_blocks)
        return np.asarray(sums, dtype=np.float64)

    def _own_slopes(self, solution: TraitSolution) -> Vector:
        """Slopes by the casks' variances: ``tr(P dV)`` less ``y' P dV P y``."""
        left, left_of_y = self._left(solution.own_covariance)
        known = left @ self.layout.within(solution.covariance) @ left
        trace = np.einsum("cll->l", left) - np.einsum("cll->l", known)
        fitted = self.layout.of_coefficients(solution.coefficients)
        squares = ((left_of_y - np.einsum("clk,ck->cl", left, fitted)) ** 2).sum(axis=0)
        found: Vector = -0.5 * solution.own_prior * (trace - squares)
        return found

    def fit(
        self, *, sd_scale: float | None = None, start: Vector | None = None, steps: int = 60
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
        """
        from scipy.optimize import minimize

        solved: dict[bytes, TraitSolution] = {}

        def objective(log_variances: Vector) -> tuple[float, Vector]:
            solved.clear()
            found = solved[log_variances.tobytes()] = self.solve(log_variances)
            value, slope = found.log_likelihood, self.gradient(found)
            if sd_scale is not None:
                share = np.exp(log_variances) / sd_scale**2
                value += 0.5 * float((OFF_ZERO * log_variances - share).sum())
                slope = slope + 0.5 * (OFF_ZERO - share)
            return -value, -slope

        at = np.full(self.n_variances, 2.0) if start is None else start
        best = minimize(
            objective,
            at,
            jac=True,
            method="L-BFGS-B",
            bounds=[LOG_VARIANCE_RANGE] * len(at),
            options={"maxiter": steps, "ftol": 1e-10 if sd_scale is None else 1e-7},
        )
        return solved.get(best.x.tobytes()) or self.solve(best.x)

    def leave_out(self, solution: TraitSolution, groups: Codes) -> WithoutGroup:
        """Foretell every reading without its own group, in closed form.

        Groups are whole casks or sets of them. With ``P = V^-1`` the residual of group g is
        ``P_gg^-1 (P y)_g`` and its covariance ``P_gg^-1``; the variances of the model stay as
        fitted.
        """
        residual, variance = np.empty(len(self.y)), np.empty(len(self.y))
        log_density = np.empty(int(groups.max()) + 1)
        own = solution.own_covariance[self.cask]
        weighted = self.bases / self.noise_variance[:, None]
        # Rows of V0^-1 B, one a reading, in terms of the traits of its cask.
        inner = weighted - np.einsum("il,ilk,ikj->ij", weighted, own, solution.on_traits[self.cask])
        u = np.einsum("il,ilm->im", inner, self.layout.traits[self.cask])
        drawn = np.einsum("il,ilk,ik->i", weighted, own, solution.on_reading[self.cask])
        p_y = self.y / self.noise_variance - drawn - u @ solution.coefficients
        for rows in _by_size(groups):
            p = -(u[rows] @ solution.covariance @ u[rows].transpose(0, 2, 1))
            same = self.cask[rows][:, :, None] == self.cask[rows][:, None, :]
            b = weighted[rows]
            p -= same * np.einsum("gil,gilk,gjk->gij", b, own[rows], b)
            width = rows.shape[1]
            p[:, range(width), range(width)] += 1.0 / self.noise_variance[rows]
            inverse = np.linalg.inv(p)
            residual[rows] = np.einsum("gij,gj->gi", inverse, p_y[rows])
            variance[rows] = np.einsum("gii->gi", inverse)
            square = (residual[rows] * p_y[rows]).sum(axis=1) - np.linalg.slogdet(p)[1]
            log_density[groups[rows[:, 0]]] = -0.5 * (square + width * np.log(2.0 * np.pi))
        return WithoutGroup(residual, variance, log_density)


def _root(h: Matrix) -> Matrix:
    try:
        root: Matrix = scipy.linalg.cholesky(h, lower=True, check_finite=False)
    except np.linalg.LinAlgError as error:
        raise FitError("The influences are so alike that no fit tells them apart.") from error
    return root


def _by_size(groups: Codes) -> list[Codes]:
    """Rows of the groups, gathered by the size of the group: shape (groups, size) each."""
    order = np.argsort(groups, kind="stable")
    _, starts, counts = np.unique(groups[order], return_index=True, return_counts=True)
    return [order[starts[counts == size][:, None] + np.arange(size)] for size in np.unique(counts)]
