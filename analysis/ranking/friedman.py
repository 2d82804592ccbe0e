"""Friedman's test of ranks: the statistic with ties, and its exact chance in small tables.

Each row of ranks could as well stand in any order if the products were the same. The exact chance
counts all of these orders, row by row; ties stay as they were given. Since all orders of a row are
equally likely, sums of ranks are exchangeable: only sorted sums need to be kept on the way.

Sources: Friedman (1937), Journal of the American Statistical Association 32:675-701; the correction
for ties in Hollander and Wolfe (1973), chapter 7. Checked against scipy and published tables in
tests/outside.
"""

from __future__ import annotations

import math
from collections import Counter
from itertools import permutations

import numpy as np
import scipy.stats

MOST_STATES = 60_000
"""Sorted sums that are kept at the most; beyond it the chance is drawn."""
MOST_PRODUCTS_EXACT = 5
DRAWS = 20_000
NEARLY = 1e-9


def ranked(places: np.ndarray) -> np.ndarray:
    """Places of each row as ranks, 1 the first; equal places share the mean of their ranks.

    Examples
    --------
    >>> ranked(np.array([[1, 1, 3], [2, 1, 3]])).tolist()
    [[1.5, 1.5, 3.0], [2.0, 1.0, 3.0]]
    """
    return np.asarray(scipy.stats.rankdata(places, axis=1))


def statistic(ranks: np.ndarray) -> float | None:
    """Friedman's chi-square with the correction for ties; None where all is tied.

    Examples
    --------
    >>> statistic(ranked(np.array([[1, 2, 3]] * 4)))
    8.0
    """
    spread = _spread(ranks)
    if spread <= NEARLY:
        return None
    n, p = ranks.shape
    off = ranks.sum(axis=0) - n * (p + 1) / 2.0
    return float((p - 1) * np.sum(off**2) / spread)


def _spread(ranks: np.ndarray) -> float:
    """Sum of squared distances of the ranks from their mean, which ties make smaller."""
    return float(np.sum((ranks - (ranks.shape[1] + 1) / 2.0) ** 2))


def exact_p(ranks: np.ndarray) -> float | None:
    """Chance of so large a statistic over all orders of the rows; None: too many to count.

    Examples
    --------
    >>> round(exact_p(ranked(np.array([[1, 2, 3]] * 4))), 4)
    0.0046
    """
    p = ranks.shape[1]
    if p > MOST_PRODUCTS_EXACT:
        return None
    middle = (p + 1) / 2.0
    doubled = np.rint(2.0 * (ranks - middle)).astype(int)
    sums: dict[tuple[int, ...], float] = {(0,) * p: 1.0}
    for row in doubled:
        orders = Counter(permutations(row.tolist()))
        ways = sum(orders.values())
        after: dict[tuple[int, ...], float] = {}
        for known, chance in sums.items():
            for order, times in orders.items():
                now = tuple(sorted(a + b for a, b in zip(known, order, strict=True)))
                after[now] = after.get(now, 0.0) + chance * times / ways
        sums = after
        if len(sums) > MOST_STATES:
            return None
    least = float(np.sum(doubled.sum(axis=0) ** 2)) - NEARLY
    return float(sum(c for known, c in sums.items() if sum(s * s for s in known) >= least))


def drawn_p(ranks: np.ndarray, seed: int, draws: int = DRAWS) -> float:
    """The same by rows put into order at random, the given one among them."""
    rng = np.random.default_rng(seed)
    n, p = ranks.shape
    centred = ranks - (p + 1) / 2.0
    least = float(np.sum(centred.sum(axis=0) ** 2)) - NEARLY
    hits = 1
    for start in range(0, draws, 2_000):
        size = min(2_000, draws - start)
        keys = rng.random((size, n, p)).argsort(axis=2)
        mixed = np.take_along_axis(np.broadcast_to(centred, (size, n, p)), keys, axis=2)
        hits += int(np.sum(np.sum(mixed.sum(axis=1) ** 2, axis=1) >= least))
    return hits / (draws + 1)


def pair_error(ranks: np.ndarray) -> float:
    """Standard error of the difference of two sums of ranks, if the products are the same.

    ``sqrt(n p (p + 1) / 6)`` without ties; ties make it smaller.
    """
    p = ranks.shape[1]
    return float(np.sqrt(2.0 * _spread(ranks) / (p - 1)))


def least_difference(ranks: np.ndarray, error: float) -> float:
    """Least difference of the sums of two products that were named before: ``z`` errors.

    Examples
    --------
    >>> round(least_difference(ranked(np.array([[1, 2, 3]] * 12)), 0.05), 2)
    9.6
    """
    return float(scipy.stats.norm.isf(error / 2.0)) * pair_error(ranks)


def least_difference_of_all(ranks: np.ndarray, error: float) -> float:
    """The same for every pair at once, by the range of so many normal sums (Nemenyi 1963)."""
    p = ranks.shape[1]
    widest = float(scipy.stats.studentized_range.isf(error, p, np.inf))
    return widest / math.sqrt(2.0) * pair_error(ranks)
