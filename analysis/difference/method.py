"""How often somebody is right about two products that differ by so much, and back again.

Thurstone's model: what a nose gets from a glass is normal with sd 1, and d-prime is the distance of
the two products' means in that unit. What is right by chance alone is known of each way to ask.

Sources: Thurstone (1927), Psychological Review 34:273-286; Ennis (1993), Journal of Sensory Studies
8:353-370, for the integrals. Published tables are checked in tests/outside.
"""

from __future__ import annotations

import math
from enum import StrEnum
from functools import cache

import numpy as np
import scipy.special

from ..array_types import Vector

HALF_WIDTH, POINTS = 10.0, 4001
"""The integral's range in sd, and its points: exact to ten digits (a smooth integrand)."""
MOST = 12.0
"""A d-prime beyond which nobody is ever wrong."""


class Method(StrEnum):
    """How two products are told apart."""

    STRONGER = "stronger of two"
    TWO_AND_TWO = "two and two"

    @property
    def guess(self) -> float:
        """What is right by chance alone."""
        return _GUESS[self]

    @property
    def signed(self) -> bool:
        """Whether the answer says which of the two is the stronger."""
        return self is Method.STRONGER


_GUESS = {Method.STRONGER: 1.0 / 2.0, Method.TWO_AND_TWO: 1.0 / 3.0}


def right(method: Method, d_prime: float) -> float:
    """Chance that one answer is right about products so far apart.

    Stronger of two (2-AFC): ``Phi(d / sqrt 2)``; a negative distance is one the other way round.
    Two and two (tetrad): ``1 - 2 int phi(z) [2 Phi(z) Phi(z - d) - Phi(z - d)^2] dz``.

    Examples
    --------
    >>> round(right(Method.STRONGER, 1.0), 4), round(right(Method.TWO_AND_TWO, 1.0), 4)
    (0.7602, 0.4938)
    >>> right(Method.TWO_AND_TWO, 0.0).__round__(9) == round(1 / 3, 9)
    True
    """
    if method is Method.STRONGER:
        return float(scipy.special.ndtr(d_prime / math.sqrt(2.0)))
    z, weight = _grid()
    near, far = scipy.special.ndtr(z), scipy.special.ndtr(z - abs(d_prime))
    return float(1.0 - 2.0 * np.sum(weight * (2.0 * near * far - far**2)))


@cache
def _grid() -> tuple[Vector, Vector]:
    """Places of the integral, and the density of each times its width."""
    z = np.linspace(-HALF_WIDTH, HALF_WIDTH, POINTS)
    return z, np.exp(-0.5 * z**2) / math.sqrt(2.0 * math.pi) * (z[1] - z[0])


def d_prime(method: Method, share_right: float) -> float:
    """Distance of two products about which so large a share of answers is right.

    What is right less often than by chance is a distance of 0; of the stronger of two it is one
    the other way round.

    Examples
    --------
    >>> round(d_prime(Method.STRONGER, 0.7), 2), d_prime(Method.TWO_AND_TWO, 0.2)
    (0.74, 0.0)
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
