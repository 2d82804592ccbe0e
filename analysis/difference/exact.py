"""Exact tests of right answers, their power, and how many answers a question takes.

All from the binomial distribution, none from a normal one. Power is a saw-tooth: with an answer
more the number that has to be right may rise, and power falls. So two numbers are told: the first
with which the power is reached, and the one from which it stays.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from scipy.stats import binom

from .method import Method, right

MOST_ANSWERS = 2_000
"""More than anybody is ever asked for."""


def least_right(n: int, guess: float, error: float) -> int | None:
    """Fewest right answers of `n` that chance alone gives at most in a share `error`; None: none.

    Examples
    --------
    >>> least_right(24, 1 / 3, 0.05), least_right(24, 0.5, 0.05), least_right(4, 0.5, 0.05)
    (13, 17, None)
    """
    k = int(binom.isf(error, n, guess)) + 1
    while k > 0 and binom.sf(k - 2, n, guess) <= error:
        k -= 1
    while binom.sf(k - 1, n, guess) > error:
        k += 1
    return k if k <= n else None


def most_right_alike(n: int, share: float, error: float) -> int | None:
    """Most right answers of `n` that a `share` of right ones gives at most so seldom; None: none.

    Examples
    --------
    >>> [most_right_alike(n, 1 / 3 + 2 / 3 * 0.3, 0.05) for n in (18, 30, 60, 96)]
    [5, 11, 25, 42]
    """
    k = int(binom.ppf(error, n, share))
    while k >= 0 and binom.cdf(k, n, share) > error:
        k -= 1
    while binom.cdf(k + 1, n, share) <= error:
        k += 1
    return k if k >= 0 else None


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
    share = right(asked.method, d)
    error = asked.error / 2.0 if asked.two_sided else asked.error
    k = least_right(n, asked.method.guess, error)
    if k is None:
        return 0.0
    found = float(binom.sf(k - 1, n, share))
    return found + float(binom.cdf(n - k, n, share)) if asked.two_sided else found


def power_alike(asked: Asked, n: int, d: float = 0.0) -> float:
    """Chance that n answers of as many people are called alike if the products are `d` apart."""
    if asked.alike_within is None:
        return 0.0
    share = right(asked.method, d)
    most = most_right_alike(n, right(asked.method, asked.alike_within), asked.error)
    if most is None:
        return 0.0
    if not asked.method.signed:
        return float(binom.cdf(most, n, share))
    least = n - most
    return max(float(binom.cdf(most, n, share) - binom.cdf(least - 1, n, share)), 0.0)


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
    """
    return _needed(lambda n: power_different(asked, n, d), power)


def needed_alike(asked: Asked, power: float, d: float = 0.0) -> Needed:
    """How many answers, one a person, find products alike that are `d` apart, with a power."""
    return _needed(lambda n: power_alike(asked, n, d), power)


def _needed(power_at: Callable[[int], float], power: float) -> Needed:
    """Look up to where the power has stayed long enough that no saw-tooth comes back below it."""
    first: int | None = None
    stays: int | None = None
    n = 1
    while n <= MOST_ANSWERS:
        if power_at(n) >= power:
            first = n if first is None else first
            stays = n if stays is None else stays
            if n > stays + max(12, stays // 4):
                return Needed(first, stays)
        else:
            stays = None
        n += 1 if n < 150 else max(1, n // 100)
    return Needed(first, stays)
