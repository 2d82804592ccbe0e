"""Do two people lay the glasses out alike? RV, and what it would be by chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.array_types import Matrix, Vector


@dataclass(frozen=True)
class RvTest:
    """One RV against its permutations.

    Attributes
    ----------
    rv
        Never to be read alone: two tables of chance numbers over eight glasses reach .6.
    standardised
        ``(rv - mean) / sd`` over the permutations.
    p
        ``(1 + times at least as high) / (permutations + 1)``.
    """

    rv: float
    standardised: float
    p: float


def products(tables: Sequence[Matrix]) -> np.ndarray:
    """``X X'`` of each column-centred table, at length one, shape (tables, rows, rows).

    The inner product of two of them is their RV (Escoufier 1973).
    """
    centred = [table - table.mean(axis=0) for table in tables]
    found = np.stack([table @ table.T for table in centred])
    unit: np.ndarray = found / np.linalg.norm(found, axis=(1, 2))[:, None, None]
    return unit


def rv_matrix(tables: Sequence[Matrix]) -> Matrix:
    """RV of each pair, ``tr(W_1 W_2) / sqrt(tr W_1^2 tr W_2^2)``, shape (tables, tables).

    Examples
    --------
    >>> one = np.array([[1.0, 6, 7], [5, 3, 2], [6, 1, 1], [7, 1, 2], [2, 5, 4], [3, 4, 4]])
    >>> rv_matrix([one, 5.0 * one + 1.0]).round(9).tolist()
    [[1.0, 1.0], [1.0, 1.0]]
    """
    flat = products(tables).reshape(len(tables), -1)
    found: Matrix = flat @ flat.T
    return found


def rv_without_diagonal(tables: Sequence[Matrix]) -> Matrix:
    """RV of each pair without the diagonals of ``X X'``: near zero for tables of chance numbers.

    Notes
    -----
    Smilde, Kiers, Bijlsma, Rubingh & van Erk (2009), Bioinformatics 25:401-405.
    """
    inner = products(tables)
    rows = np.arange(inner.shape[1])
    inner[:, rows, rows] = 0.0
    flat = inner.reshape(len(tables), -1)
    flat = flat / np.linalg.norm(flat, axis=1, keepdims=True)
    found: Matrix = flat @ flat.T
    return found


def rv_by_chance(one: Matrix, other: Matrix) -> tuple[float, float]:
    """Mean and variance of RV over all rearrangements of the rows, exactly.

    Returns
    -------
    tuple of float
        ``E = sqrt(b_1 b_2) / (n - 1)`` with ``b = (tr W)^2 / tr W^2``, and the variance.

    Notes
    -----
    Kazi-Aoual, Hitier, Sabatier & Lebreton (1995), Computational Statistics & Data Analysis
    20:643-656, in the form of Josse, Pages & Husson (2008), the same journal, 53:82-91.

    Examples
    --------
    >>> rng = np.random.default_rng(3)
    >>> mean, _ = rv_by_chance(rng.normal(size=(8, 12)), rng.normal(size=(8, 12)))
    >>> 0.45 < mean < 0.75
    True
    """
    n = len(one)
    w1, w2 = products([one, other])
    (b1, t1), (b2, t2) = (_shape(w, n) for w in (w1, w2))
    spread = 2.0 * (n - 1 - b1) * (n - 1 - b2) / ((n + 1) * (n - 1) ** 2 * (n - 2))
    variance = spread * (1.0 + (n - 3) * t1 * t2 / (2.0 * n * (n - 1)))
    return float(np.sqrt(b1 * b2) / (n - 1)), float(variance)


def _shape(w: Matrix, n: int) -> tuple[float, float]:
    squares = float(np.sum(w**2))
    b = float(np.trace(w)) ** 2 / squares
    peaks = n * (n + 1) * float(np.sum(np.diag(w) ** 2)) / squares - (n - 1) * (b + 2.0)
    left = (n - 3) * (n - 1 - b)
    return b, (n - 1) / left * peaks if left > 1e-9 else 0.0


def row_orders(n: int, permutations: int, seed: int) -> np.ndarray:
    """Random orders of n rows, shape (permutations, n)."""
    return np.random.default_rng(seed).random((permutations, n)).argsort(axis=1)


def rv_tests(
    fixed: np.ndarray, moved: np.ndarray, *, permutations: int = 999, seed: int = 1
) -> tuple[RvTest, ...]:
    """Test pairs of tables given as :func:`products`, rows of the second rearranged.

    Parameters
    ----------
    fixed, moved
        Shape (pairs, rows, rows), each of length one.

    Returns
    -------
    tuple of RvTest
        One a pair; all pairs see the same rearrangements.
    """
    seen = np.einsum("pij,pij->p", fixed, moved)
    drawn = np.empty((permutations, len(fixed)))
    flat = fixed.reshape(len(fixed), -1)
    for row, order in enumerate(row_orders(fixed.shape[1], permutations, seed)):
        shuffled = moved[:, order][:, :, order].reshape(len(fixed), -1)
        drawn[row] = np.einsum("pi,pi->p", flat, shuffled)
    return tuple(_test(value, column) for value, column in zip(seen, drawn.T, strict=True))


def _test(seen: float, drawn: Vector) -> RvTest:
    sd = float(drawn.std())
    standardised = float(seen - drawn.mean()) / sd if sd > 1e-12 else 0.0
    as_high = int(np.count_nonzero(drawn >= seen - 1e-12))
    return RvTest(float(seen), standardised, (1.0 + as_high) / (len(drawn) + 1.0))


def rv_with_others(
    tables: Sequence[Matrix], *, permutations: int = 999, seed: int = 1
) -> tuple[RvTest, ...]:
    """Each table against the mean layout of all others, itself left out."""
    inner = products(tables)
    others = inner.sum(axis=0) - inner
    others = others / np.linalg.norm(others, axis=(1, 2))[:, None, None]
    return rv_tests(others, inner, permutations=permutations, seed=seed)
