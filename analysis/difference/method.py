"""How often somebody is right about two products that differ by so much, and back again.

Thurstone's model: what a nose gets from a glass is normal with sd 1, and d-prime is the distance of
the two products' means in that unit. What is right by chance alone is known of each way to ask.

Sources: Thurstone (1927), Psychological Review 34:273-286; Ennis (1993), Journal of Sensory Studies
8:353-370, for the integrals (the tetrad by Ennis, Ennis, Palen and Lampe, 2012). Published tables
are checked in tests/outside.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

import numpy as np
import scipy.special

from ..array_types import Vector

HALF_WIDTH, POINTS = 10.0, 4001
"""The integral's range in sd, and its points: exact to ten digits (a smooth integrand)."""
NODES = 200
"""Points of an integral that begins at 0, by Gauss and Legendre: as exact."""
MOST = 12.0
"""A d-prime beyond which nobody is ever wrong."""


class Method(StrEnum):
    """How two products are told apart."""

    STRONGER = "stronger of two"
    TWO_AND_TWO = "two and two"
    ODD_ONE_OUT = "odd one out"
    LIKE_THE_FIRST = "like the first"

    @property
    def guess(self) -> float:
        """What is right by chance alone."""
        return _WAYS[self].guess

    @property
    def glasses(self) -> int:
        """How many glasses one answer takes."""
        return _WAYS[self].glasses

    @property
    def standard(self) -> str:
        """The open standard that has this way to ask."""
        return _WAYS[self].standard

    @property
    def signed(self) -> bool:
        """Whether the answer says which of the two is the stronger."""
        return self is Method.STRONGER

    @property
    def on_request(self) -> bool:
        """Whether others find the same difference with fewer glasses, so that it is no default."""
        return self in {Method.ODD_ONE_OUT, Method.LIKE_THE_FIRST}


def lowest_of(method: Method) -> float | None:
    """Share of right answers below which nobody's can lie; None where one may favour either."""
    return None if method.signed else method.guess


def right(method: Method, d_prime: float) -> float:
    """Chance that one answer is right about products so far apart.

    Stronger of two (2-AFC): ``Phi(d / sqrt 2)``; a negative distance is one the other way round.
    Two and two (tetrad): ``1 - 2 int phi(z) [2 Phi(z) Phi(z - d) - Phi(z - d)^2] dz``.
    Odd one out (triangle): ``2 int_0^inf [Phi(-z sqrt 3 + d sqrt(2/3)) + Phi(-z sqrt 3 -
    d sqrt(2/3))] phi(z) dz``. Like the first (duo-trio), where the marked glass is as new a
    sensation as the others: ``1 - Phi(d / sqrt 2) - Phi(d / sqrt 6) + 2 Phi(d / sqrt 2)
    Phi(d / sqrt 6)``.

    Examples
    --------
    >>> round(right(Method.STRONGER, 1.0), 4), round(right(Method.TWO_AND_TWO, 1.0), 4)
    (0.7602, 0.4938)
    >>> round(right(Method.ODD_ONE_OUT, 1.0), 4), round(right(Method.LIKE_THE_FIRST, 1.0), 4)
    (0.418, 0.5825)
    >>> [abs(right(way, 0.0) - way.guess) < 1e-9 for way in Method]
    [True, True, True, True]
    """
    return _WAYS[method].right(d_prime)


def _right_of_two(d: float) -> float:
    return float(scipy.special.ndtr(d / math.sqrt(2.0)))


def _right_two_and_two(d: float) -> float:
    z, weight = _grid()
    near, far = scipy.special.ndtr(z), scipy.special.ndtr(z - abs(d))
    return float(1.0 - 2.0 * np.sum(weight * (2.0 * near * far - far**2)))


def _right_odd_one(d: float) -> float:
    z, weight = _upper_half()
    steep, shift = -math.sqrt(3.0) * z, d * math.sqrt(2.0 / 3.0)
    both = scipy.special.ndtr(steep + shift) + scipy.special.ndtr(steep - shift)
    return float(2.0 * np.sum(weight * both))


def _right_like_first(d: float) -> float:
    apart, nearer = (float(scipy.special.ndtr(d / math.sqrt(n))) for n in (2.0, 6.0))
    return 1.0 - apart - nearer + 2.0 * apart * nearer


@dataclass(frozen=True)
class _Way:
    """What is right by chance, glasses an answer takes, what is right by distance; who has it."""

    guess: float
    glasses: int
    right: Callable[[float], float]
    standard: str


_WAYS = {
    Method.STRONGER: _Way(1.0 / 2.0, 2, _right_of_two, "ISO 5495 (paired comparison)"),
    Method.TWO_AND_TWO: _Way(1.0 / 3.0, 4, _right_two_and_two, "ASTM E3009 (tetrad)"),
    Method.ODD_ONE_OUT: _Way(1.0 / 3.0, 3, _right_odd_one, "ISO 4120 (triangle)"),
    Method.LIKE_THE_FIRST: _Way(1.0 / 2.0, 3, _right_like_first, "ISO 10399 (duo-trio)"),
}


@cache
def _grid() -> tuple[Vector, Vector]:
    """Places of the integral, and the density of each times its width."""
    z = np.linspace(-HALF_WIDTH, HALF_WIDTH, POINTS)
    return z, _density(z) * (z[1] - z[0])


@cache
def _upper_half() -> tuple[Vector, Vector]:
    """Places above 0, and the density of each times its weight."""
    at, weight = np.polynomial.legendre.leggauss(NODES)
    z = HALF_WIDTH / 2.0 * (at + 1.0)
    return z, _density(z) * weight * HALF_WIDTH / 2.0


def _density(z: Vector) -> Vector:
    return np.asarray(np.exp(-0.5 * z**2) / math.sqrt(2.0 * math.pi))


def d_prime(method: Method, share_right: float) -> float:
    """Distance of two products about which so large a share of answers is right.

    What is right less often than by chance is a distance of 0; of the stronger of two it is one
    the other way round.

    Examples
    --------
    >>> round(d_prime(Method.STRONGER, 0.7), 2), d_prime(Method.TWO_AND_TWO, 0.2)
    (0.74, 0.0)
    >>> round(d_prime(Method.ODD_ONE_OUT, 0.6), 2), round(d_prime(Method.LIKE_THE_FIRST, 0.6), 2)
    (1.98, 1.12)
    """
    if method is Method.STRONGER:
        found = math.sqrt(2.0) * float(scipy.special.ndtri(share_right))
        return min(max(found, -MOST), MOST)
    if share_right <= method.guess:
        return 0.0
    low, high = 0.0, MOST
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if right(method, middle) < share_right else (low, middle)
    return (low + high) / 2.0
