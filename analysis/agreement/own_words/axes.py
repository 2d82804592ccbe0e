"""How many directions of the consensus map are more than chance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...array_types import Matrix, Vector
from .rv import row_orders


def shared_axes(
    tables: Sequence[Matrix], *, permutations: int = 999, seed: int = 1, level: float = 0.05
) -> tuple[int, Vector]:
    """Count the axes of the consensus map that tables share beyond chance.

    Each table's rows are rearranged by themselves; an axis counts while its eigenvalue is
    passed by no more than `level` of the rearranged maps, from the first on.

    Parameters
    ----------
    tables
        Shape (rows, columns of that table) each, no holes.
    permutations, seed
        Number of rearrangements and seed of the generator.
    level
        Share of false alarms accepted for each axis.

    Returns
    -------
    tuple
        The number of axes, and the p of each axis up to the first that fails.

    Notes
    -----
    From the second axis on, the axes found so far are taken out of rows and columns first. What
    is left over has rows that are no longer free of one another, so it is turned onto axes drawn
    at random in the rest of the space; there its rows are rearranged with random signs, and the
    largest eigenvalue is taken as a share of all of them.

    Examples
    --------
    >>> one = np.array([[1.0, 6], [5, 3], [6, 1], [7, 1], [2, 5], [3, 4]])
    >>> shared_axes([one, one[:, ::-1] + 1.0, 3.0 * one])[0] > 0
    True
    """
    weighted = []
    for table in tables:
        centred = table - table.mean(axis=0)
        weighted.append(centred / np.linalg.norm(centred, 2))
    blocks = np.cumsum([table.shape[1] for table in weighted])[:-1]
    joined = np.hstack(weighted)
    left, values, right = np.linalg.svd(joined, full_matrices=False)
    found: list[float] = []
    for axis in range(min(len(joined) - 2, joined.shape[1] - 1)):
        if values[axis] <= 1e-6 * values[0]:
            break
        rest = _rest(joined, left[:, :axis], seed) if axis else joined
        found.append(_p(rest, right[:axis].T, blocks, permutations, seed))
        if found[-1] > level:
            return axis, np.array(found)
    return len(found), np.array(found)


def _rest(joined: Matrix, taken: Matrix, seed: int) -> Matrix:
    """The rows in what the middle and the axes taken leave over, on axes drawn at random."""
    n, k = len(joined), taken.shape[1] + 1
    middle = np.full((n, 1), n**-0.5)
    drawn = np.random.default_rng(seed).normal(size=(n, n - k))
    basis = np.linalg.qr(np.hstack([middle, taken, drawn]))[0][:, k:]
    found: Matrix = basis.T @ joined
    return found


def _p(rows: Matrix, taken: Matrix, blocks: np.ndarray, permutations: int, seed: int) -> float:
    """How often rearranged blocks have as large a first eigenvalue, as a share of all."""
    n, k = len(rows), taken.shape[1]
    products = np.zeros((permutations, n, n))
    along = np.zeros((permutations, n, k))
    for at, columns in enumerate(np.split(np.arange(rows.shape[1]), blocks)):
        orders = row_orders(n, permutations, seed + at)
        part = rows[:, columns]
        inner = (part @ part.T)[orders[:, :, None], orders[:, None, :]]
        if k:
            flips = np.random.default_rng([seed, at]).choice([-1.0, 1.0], (permutations, n))
            inner *= flips[:, :, None]
            inner *= flips[:, None, :]
            along += (part @ taken[columns])[orders] * flips[:, :, None]
        products += inner
    if k:
        products -= along @ np.swapaxes(along, 1, 2)
    shares = np.linalg.eigvalsh(products)[:, -1] / np.trace(products, axis1=1, axis2=2)
    seen = np.linalg.norm(rows, 2) ** 2 / np.sum(rows**2)
    as_high = int(np.count_nonzero(shares >= seen * (1.0 - 1e-12)))
    return (1.0 + as_high) / (permutations + 1.0)
