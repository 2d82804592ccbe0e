"""Many small symmetric matrices at once: a few numbers a cask, the casks last."""

from __future__ import annotations

import numpy as np

from ..array_types import Matrix, Stack, Vector


def inverses(matrices: Stack) -> tuple[Stack, Vector]:
    """Inverses of positive definite matrices, and the logarithms of their determinants.

    Parameters
    ----------
    matrices
        Shape (k, k, n); k is small. Only what stands on and below the diagonal is read.

    Notes
    -----
    ``A = L D L'`` written out (Golub & Van Loan 2013, 4.1), then ``A^-1 = L^-T D^-1 L^-1``.

    Examples
    --------
    >>> found, log_det = inverses(np.array([[4.0, 2.0], [2.0, 3.0]])[:, :, None])
    >>> found[:, :, 0].round(6).tolist(), log_det.round(6).tolist()
    ([[0.375, -0.25], [-0.25, 0.5]], [2.079442])
    """
    lower, pivots = _factors(matrices)
    back = _lower_inverse(lower)
    found = np.empty_like(matrices)
    for i in range(len(matrices)):
        for j in range(i + 1):
            parts = [back[p][i] * back[p][j] / pivots[p] for p in range(i, len(matrices))]
            found[i, j] = found[j, i] = sum(parts[1:], parts[0])
    log_det: Vector = np.log(np.array(pivots)).sum(axis=0)
    return found, log_det


def _factors(matrices: Stack) -> tuple[list[list[Vector]], list[Vector]]:
    """Rows of L left of its diagonal of ones, and D."""
    lower: list[list[Vector]] = [[] for _ in matrices]
    pivots: list[Vector] = []
    for j in range(len(matrices)):
        scaled = [part * pivot for part, pivot in zip(lower[j], pivots, strict=True)]
        pivots.append(_less(matrices[j, j], lower[j], scaled))
        for i in range(j + 1, len(matrices)):
            lower[i].append(_less(matrices[i, j], lower[i], scaled) / pivots[j])
    return lower, pivots


def _less(value: Vector, ones: list[Vector], others: list[Vector]) -> Vector:
    for one, other in zip(ones, others, strict=True):
        value = value - one * other
    return value


def _lower_inverse(lower: list[list[Vector]]) -> list[list[Vector | float]]:
    """Rows of ``L^-1``, its diagonal with them."""
    found: list[list[Vector | float]] = []
    for i, row in enumerate(lower):
        each = [-sum((row[p] * found[p][j] for p in range(j + 1, i)), row[j]) for j in range(i)]
        found.append([*each, 1.0])
    return found


def times(one: Stack, other: Stack) -> Stack:
    """The products of matrices, each with its like."""
    found: Stack = one[:, 0, None] * other[None, 0]
    for j in range(1, one.shape[1]):
        found += one[:, j, None] * other[None, j]
    return found


def onto(matrices: Stack, vectors: Matrix) -> Matrix:
    """The products of matrices with vectors, shape (k, n)."""
    found: Matrix = (matrices * vectors).sum(axis=1)
    return found
