"""A note that nearly every glass lacks: in how many it was found, and how much it was then.

With nine tenths of the scores at 0 there is no model to fit that would say more than a count.
Of n glasses of a sample, k above 0, the estimate is the plain mean and its squared error
``max(k, 1) s^2 / n^2``, with ``s^2`` the variance of found scores about their sample's mean
over the whole note. Found in none, the note may still be there for some noses: at most the
upper bound of Clopper & Pearson (1934) would show it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv

from ..array_types import Codes, Vector
from ..house_line import on_the_line
from .layout import sums
from .lines import two_sided

_BOUND = 0.95
_FIRST_VARIANCE, _FIRST_WORTH = 100.0, 2.0
"""Variance of found scores before any is seen, and how many it counts for."""


def at_most(found: Codes, glasses: Codes) -> Vector:
    """Share of glasses that at most would show it, one-sided at 95 in 100.

    Examples
    --------
    >>> import numpy as np
    >>> at_most(np.array([0, 0, 0, 3]), np.array([8, 16, 24, 3])).round(2).tolist()
    [0.31, 0.17, 0.12, 1.0]
    """
    rest = glasses - found
    bound = betaincinv(found + 1.0, np.maximum(rest, 1e-9), _BOUND)
    share: Vector = np.where(rest > 0, bound, 1.0)
    return share


@dataclass(frozen=True)
class FoundOrNot:
    """Counts of a note by sample.

    Attributes
    ----------
    found, glasses
        Glasses above 0, and all.
    mean
        Plain mean of all scores.
    variance
        Of found scores about their sample's mean.
    usual
        Mean of all found scores.
    """

    found: Codes
    glasses: Codes
    mean: Vector
    variance: float
    usual: float

    @classmethod
    def of(cls, sample: Codes, y: Vector) -> FoundOrNot:
        """Count; codes without gaps."""
        n = int(sample.max()) + 1
        above = y > 0.0
        of, score = sample[above], y[above]
        glasses, found = np.bincount(sample, minlength=n), np.bincount(of, minlength=n)
        where = sums(of, score, n) / np.maximum(found, 1)
        about = float(np.sum((score - where[of]) ** 2)) + _FIRST_WORTH * _FIRST_VARIANCE
        spare = float(np.sum(np.maximum(found - 1, 0))) + _FIRST_WORTH
        usual = float(score.mean()) if len(score) else 0.0
        return cls(found, glasses, sums(sample, y, n) / glasses, about / spare, usual)

    @property
    def error_variance(self) -> Vector:
        """Squared error of the plain mean."""
        found: Vector = np.maximum(self.found, 1) * self.variance / self.glasses**2
        return found

    @property
    def at_most(self) -> Vector:
        """Share of glasses that at most would show it."""
        return at_most(self.found, self.glasses)

    def moments(self, z: Vector, sd: Vector) -> tuple[Vector, Vector]:
        """Give them back as they are: a mean and its error."""
        return z, sd

    def band(self, z: Vector, sd: Vector, level: float) -> tuple[Vector, Vector]:
        """From 0 where no more than one glass showed it, up to what at most would show it."""
        half = two_sided(level) * sd
        low = np.where(self.found <= 1, 0.0, z - half)
        high = np.where(self.found == 0, self.at_most * self.usual, z + half)
        return on_the_line(low), on_the_line(high)
