"""People who ranked more than once: each counts once, with all sets together.

One person's sets hang together by a lasting opinion, so they are not so many people's. If the
products are the same to the panel, only each person's labels could as well be changed about, the
same way in all of that person's sets: so it is counted, all ways where they are few, else drawn.

Source: the permutation test within blocks, as Friedman's of ranks (friedman.py); a block a person.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import permutations, product

import numpy as np
import scipy.stats

from ..array_types import Ints, Vector
from .friedman import DRAWS, NEARLY

MOST_WAYS = 50_000
"""Ways to change labels about that are all counted."""
WORLDS, PLAN_WAYS = 1_000, 499


def person_sums(ranks: Vector, people: list[str]) -> Vector:
    """Each person's ranks, from their middle, summed over all sets; a row a person.

    Examples
    --------
    >>> person_sums(np.array([[1.0, 2.0, 3.0], [1.0, 3.0, 2.0], [3.0, 2.0, 1.0]]), ["A", "A", "B"])
    array([[-2.,  1.,  1.],
           [ 1.,  0., -1.]])
    """
    centred = ranks - (ranks.shape[1] + 1) / 2.0
    who = np.array(people)
    return np.array([centred[who == one].sum(axis=0) for one in sorted(set(people))])


def ways_about(people: int, products: int, seed: int, most: int, draws: int) -> tuple[Ints, bool]:
    """Ways to change labels about, ways x people x products, and whether these are all.

    The first person's labels stay: to change everybody's alike changes nothing.
    """
    if math.factorial(products) ** (people - 1) <= most:
        orders = [np.array(order) for order in permutations(range(products))]
        each = product(orders, repeat=people - 1)
        return np.array([(orders[0], *others) for others in each]), True
    rng = np.random.default_rng([seed, 53])
    return rng.random((draws, people, products)).argsort(axis=2), False


def sums_about(rows: Vector, seed: int) -> tuple[Vector, bool]:
    """Sums of the products by way to change labels about, and whether all ways were counted."""
    ways, counted = ways_about(len(rows), rows.shape[1], seed, MOST_WAYS, DRAWS)
    mixed = np.take_along_axis(np.broadcast_to(rows, ways.shape), ways, axis=2)
    return np.asarray(mixed.sum(axis=1)), counted


def chance_of(rows: Vector, about: Vector, *, counted: bool) -> float:
    """Chance of sums so far apart if the products are the same.

    Examples
    --------
    >>> rows = np.array([[-4.0, 0.0, 4.0]] * 4)
    >>> about, counted = sums_about(rows, 1)
    >>> round(chance_of(rows, about, counted=counted), 4), counted
    (0.0046, True)
    """
    least = float(np.sum(rows.sum(axis=0) ** 2)) - NEARLY
    hits = int(np.sum(np.sum(about**2, axis=1) >= least))
    return hits / len(about) if counted else (hits + 1) / (len(about) + 1)


def least_differences(about: Vector, error: float) -> tuple[float, float]:
    """Least difference of two sums: of a pair named before, and of all pairs at once."""
    first, second = np.triu_indices(about.shape[1], 1)
    of_pair = np.abs(about[:, first] - about[:, second]).ravel()
    return _least(of_pair, error), _least(np.ptp(about, axis=1), error)


def _least(found: Vector, error: float) -> float:
    """The least of these that so large a share at most reaches; infinite where none does."""
    values, times = np.unique(found.round(6), return_counts=True)
    tail = np.cumsum(times[::-1])[::-1] / len(found)
    seldom = np.flatnonzero(tail <= error)
    return float(values[seldom[0]]) - NEARLY if len(seldom) else math.inf


@cache
def power_of_people(
    products: int, people: int, each: int, d_prime: float, error: float, seed: int = 1
) -> float:
    """Chance that a difference is found by people of one opinion who rank `each` times.

    Examples
    --------
    >>> power_of_people(3, 2, 6, 2.0, 0.05), power_of_people(3, 8, 3, 2.0, 0.05) > 0.9
    (0.0, True)
    """
    rng = np.random.default_rng([seed, products, people, each])
    means = np.linspace(0.0, d_prime, products)
    nosed = means + rng.normal(size=(WORLDS, people, each, products))
    ranks = scipy.stats.rankdata(nosed, axis=3) - (products + 1) / 2.0
    rows = ranks.sum(axis=2)
    ways, counted = ways_about(people, products, seed, PLAN_WAYS, PLAN_WAYS)
    takes = np.eye(products)[ways].transpose(0, 2, 1, 3).reshape(-1, people * products)
    about = (takes @ rows.reshape(WORLDS, -1).T).reshape(len(ways), products, WORLDS)
    least = np.sum(rows.sum(axis=1) ** 2, axis=1) - NEARLY
    hits = np.sum(np.sum(about**2, axis=1) >= least, axis=0)
    p = hits / len(ways) if counted else (hits + 1) / (len(ways) + 1)
    return float(np.mean(p <= error))
