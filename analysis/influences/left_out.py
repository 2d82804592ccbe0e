"""Readings foretold without their own group, in closed form."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse

from ..array_types import Codes, Matrix, Stack, Vector
from .known_noise import KnownNoiseModel, TraitSolution


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


def leave_out(model: KnownNoiseModel, solution: TraitSolution, groups: Codes) -> WithoutGroup:
    """Foretell every reading without its own group.

    Groups are whole casks or sets of them. With ``P = V^-1`` the residual of group g is
    ``P_gg^-1 (P y)_g`` and its covariance ``P_gg^-1``; the variances of the model stay as fitted.
    """
    n = len(model.y)
    residual, variance = np.empty(n), np.empty(n)
    log_density = np.empty(int(groups.max()) + 1)
    readings = _Readings(model, solution)
    for rows in _by_size(groups):
        p = readings.precision(rows)
        inverse = np.linalg.inv(p)
        residual[rows] = np.einsum("gij,gj->gi", inverse, readings.p_y[rows])
        variance[rows] = np.einsum("gii->gi", inverse)
        square = (residual[rows] * readings.p_y[rows]).sum(axis=1) - np.linalg.slogdet(p)[1]
        width = rows.shape[1]
        log_density[groups[rows[:, 0]]] = -0.5 * (square + width * np.log(2.0 * np.pi))
    return WithoutGroup(residual, variance, log_density)


class _Readings:
    """Rows of ``P`` and ``P y`` for every reading, in terms of the traits of its cask."""

    def __init__(self, model: KnownNoiseModel, solution: TraitSolution) -> None:
        self.cask, self.noise = model.cask, model.noise_variance
        self.weighted: Matrix = model.bases / self.noise[:, None]
        own = solution.own_covariance
        drawn = np.einsum("clk,ckj->clj", own, solution.on_traits)
        # Rows of V0^-1 B, one a reading.
        inner = self.weighted - np.einsum("il,ilj->ij", self.weighted, drawn[self.cask])
        n, n_traits = inner.shape
        places = (self.cask[:, None] * n_traits + np.arange(n_traits)).ravel()
        starts = np.arange(n + 1) * n_traits
        size = (n, model.layout.n_casks * n_traits)
        u = scipy.sparse.csr_matrix((inner.ravel(), places, starts), size) @ model.layout.flat
        self.with_c: Matrix = u @ solution.covariance
        self.u: Matrix = u.toarray()
        self.of_own: Matrix = np.einsum("il,ilk->ik", self.weighted, own[self.cask])
        known = (self.of_own * solution.on_reading[self.cask]).sum(axis=1)
        self.p_y: Vector = model.y / self.noise - known - self.u @ solution.coefficients

    def precision(self, rows: Codes) -> Stack:
        """``P_gg`` of some groups, shape (groups, size, size)."""
        p: Stack = -(self.with_c[rows] @ self.u[rows].transpose(0, 2, 1))
        same = self.cask[rows][:, :, None] == self.cask[rows][:, None, :]
        p -= same * (self.of_own[rows] @ self.weighted[rows].transpose(0, 2, 1))
        width = np.arange(rows.shape[1])
        p[:, width, width] += 1.0 / self.noise[rows]
        return p


def _by_size(groups: Codes) -> list[Codes]:
    """Rows of the groups, gathered by the size of the group: shape (groups, size) each."""
    order = np.argsort(groups, kind="stable")
    _, starts, counts = np.unique(groups[order], return_index=True, return_counts=True)
    return [order[starts[counts == size][:, None] + np.arange(size)] for size in np.unique(counts)]
