"""Exact tests of right answers, their power, and how many answers a question takes.

All from the binomial distribution, none from a normal one. Power is a saw-tooth: with an answer
more the number that has to be right may rise, and power falls. So two numbers are told: the first
with which the power is reached, and the one from which it stays.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import binom

from ..array_types import Ints, Vector
from .method import Method, right

MOST_ANSWERS = 2_000
"""More than anybody is ever asked for."""
REACH: Ints = np.arange(1, MOST_ANSWERS + MOST_ANSWERS // 4 + 1)
"""The numbers of answers whose power is looked at."""


def least_right(n: int, guess: float, error: float) -> int | None:
    """Fewest right answers of `n` that chance alone gives at most in a share `error`; None: none.

    Examples
    --------
    >>> least_right(24, 1 / 3, 0.05), least_right(24, 0.5, 0.05), least_right(4, 0.5, 0.05)
    (13, 17, None)
    """
    k = int(_least_right(np.array([n]), guess, error)[0])
    return k if k <= n else None


def _least_right(n: Ints, guess: float, error: float) -> Ints:
    """Return the same for each of *n*; one more than there are where there is none."""
    k: Ints = binom.isf(error, n, guess).astype(np.intp) + 1
    while (fewer := (k > 0) & (binom.sf(k - 2, n, guess) <= error)).any():
        k -= fewer
    while (more := binom.sf(k - 1, n, guess) > error).any():
        k += more
    return k


def most_right_alike(n: int, share: float, error: float) -> int | None:
    """Most right answers of `n` that a `share` of right ones gives at most so seldom; None: none.

    Examples
    --------
    >>> [most_right_alike(n, 1 / 3 + 2 / 3 * 0.3, 0.05) for n in (18, 30, 60, 96)]
    [5, 11, 25, 42]
    """
    k = int(_most_right(np.array([n]), share, error)[0])
    return k if k >= 0 else None


def _most_right(n: Ints, share: float, error: float) -> Ints:
    """Return the same for each of *n*; -1 where there is none."""
    k: Ints = binom.ppf(error, n, share).astype(np.intp)
    while (fewer := (k >= 0) & (binom.cdf(k, n, share) > error)).any():
        k -= fewer
    while (more := (k < n) & (binom.cdf(k + 1, n, share) <= error)).any():
        k += more
    return k


@dataclass(frozen=True)
class Asked:
    """What is asked of two products, before a glass is poured.

    Attributes
    ----------
    both_ways
        Whether either may be the stronger; else one was named before. Only of the stronger of two.
    alike_within
        d-prime within which the two are to be called alike; None: that is not asked.
    error
        How often a word may be said where it is false.
    """

    method: Method
    both_ways: bool = True
    alike_within: float | None = None
    error: float = 0.05

    @property
    def two_sided(self) -> bool:
        """Whether both ends of the distribution count."""
        return self.method.signed and self.both_ways


def power_different(asked: Asked, n: int, d: float) -> float:
    """Chance that n answers are called different if the products are `d` apart.

    Examples
    --------
    >>> one_way = Asked(Method.STRONGER, both_ways=False)
    >>> round(power_different(one_way, 26, 1.0), 3)
    0.851
    """
    return float(_found_different(asked, np.array([n]), d)[0])


def _found_different(asked: Asked, n: Ints, d: float) -> Vector:
    share = right(asked.method, d)
    error = asked.error / 2.0 if asked.two_sided else asked.error
    k = _least_right(n, asked.method.guess, error)
    found = binom.sf(k - 1, n, share)
    return np.asarray(found + binom.cdf(n - k, n, share) if asked.two_sided else found)


def power_alike(asked: Asked, n: int, d: float = 0.0) -> float:
    """Chance that n answers of as many people are called alike if the products are `d` apart."""
    return float(_found_alike(asked, np.array([n]), d)[0])


def _found_alike(asked: Asked, n: Ints, d: float) -> Vector:
    if asked.alike_within is None:
        return np.zeros(len(n))
    share = right(asked.method, d)
    most = _most_right(n, right(asked.method, asked.alike_within), asked.error)
    found = binom.cdf(most, n, share)
    if asked.method.signed:
        found = np.maximum(found - binom.cdf(n - most - 1, n, share), 0.0)
    return np.asarray(found)


@dataclass(frozen=True)
class Needed:
    """Answers with which a power is reached first, and from which on it stays.

    None: not with as many as anybody is asked for.
    """

    first: int | None
    stays: int | None


def needed_different(asked: Asked, d: float, power: float) -> Needed:
    """How many answers find a difference of `d` with a power.

    Examples
    --------
    >>> needed_different(Asked(Method.STRONGER, both_ways=False), 1.0, 0.8)
    Needed(first=23, stays=26)
    >>> needed_different(Asked(Method.TWO_AND_TWO), 1.0, 0.8)
    Needed(first=61, stays=65)
    >>> needed_different(Asked(Method.ODD_ONE_OUT), 1.0, 0.8)
    Needed(first=202, stays=220)
    """
    return _needed(_found_different(asked, REACH, d), power)


def needed_alike(asked: Asked, power: float, d: float = 0.0) -> Needed:
    """How many answers, one a person, find products alike that are `d` apart, with a power."""
    return _needed(_found_alike(asked, REACH, d), power)


def _needed(powers: Vector, power: float) -> Needed:
    """Look beyond the most that anybody is asked for, so that no saw-tooth comes back below it."""
    enough = np.flatnonzero(powers >= power)
    short = np.flatnonzero(powers < power)
    first = int(REACH[enough[0]]) if len(enough) else None
    stays = int(REACH[short[-1]]) + 1 if len(short) else 1
    return Needed(
        first if first is not None and first <= MOST_ANSWERS else None,
        stays if stays <= MOST_ANSWERS else None,
    )
