"""The exact chances of Friedman's sum of squares: nobody ties, and the products are the same."""

from __future__ import annotations

from functools import cache
from itertools import permutations

import numpy as np

from ..array_types import Vector
from .friedman import MOST_PRODUCTS_EXACT, MOST_STATES


@cache
def squares_by_chance(products: int, rankings: int) -> tuple[Vector, Vector] | None:
    """Sums of squared distances of rank sums from their mean, and the chance of each; or None.

    Examples
    --------
    >>> squares, chances = squares_by_chance(3, 2)
    >>> squares.tolist(), chances.round(4).tolist()
    ([0.0, 2.0, 6.0, 8.0], [0.1667, 0.3333, 0.3333, 0.1667])
    """
    if products > MOST_PRODUCTS_EXACT:
        return None
    doubled = [2 * rank - (products + 1) for rank in range(1, products + 1)]
    orders = list(permutations(doubled))
    sums: dict[tuple[int, ...], float] = {(0,) * products: 1.0}
    for _ in range(rankings):
        after: dict[tuple[int, ...], float] = {}
        for known, chance in sums.items():
            share = chance / len(orders)
            for order in orders:
                now = tuple(sorted(a + b for a, b in zip(known, order, strict=True)))
                after[now] = after.get(now, 0.0) + share
        sums = after
        if len(sums) * len(orders) > MOST_STATES:
            return None
    squares: dict[float, float] = {}
    for known, chance in sums.items():
        square = sum(part * part for part in known) / 4.0
        squares[square] = squares.get(square, 0.0) + chance
    values = sorted(squares)
    return np.array(values), np.array([squares[value] for value in values])
