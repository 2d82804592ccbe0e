"""Do two people lay the glasses out alike? RV, and what it would be by chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector


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
