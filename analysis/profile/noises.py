"""How noisy each assessor is, and each level of the samples: one step of a fit.

Noises of few scores are drawn towards that of all, by a fixed number of scores. To let the spread
of the assessors' noises say how far was tried on real people and foretold other people worse: an
assessor who leaves a line near its end looks steady without being so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Vector
from .layout import sums
from .parameters import Levels, Parameters
from .settings import ProfileSettings

LESS_KNOWN = 0.9
"""Share of what the estimated effects take that a step reckons with, to stay on the safe side."""
_LEVEL_WEIGHT = 30.0
"""Glasses' worth of no difference that the noise of each level is mixed with."""
_MOST_UNLIKE = 9.0
"""Most that the noise variance of a bin may differ from the common one."""
_LEAST_SPREAD = 0.2
"""Least share of an assessor's variance that his ordinary scores make up."""


@dataclass(frozen=True)
class Residuals:
    """What a solution leaves of each glass.

    Attributes
    ----------
    left, raw_left
        Residuals, slips moderated and as they are.
    weight
        Weight of each score by its moderation; None where none may be a slip.
    uncertain
        Variance of what is fitted.
    level_factor
        Factor of the noise variance at the level of the sample.
    squares
        ``s^2``.
    """

    assessor: Codes
    n_assessors: int
    left: Vector
    raw_left: Vector
    weight: Vector | None
    uncertain: Vector
    level_factor: Vector
    squares: float

    def by_assessor(self, values: Vector) -> Vector:
        """Sum over the glasses of each assessor."""
        return sums(self.assessor, values, self.n_assessors)


@dataclass(frozen=True)
class Noise:
    """Noise and spread of each assessor, and noise of each level (see `Parameters`)."""

    noise: Vector
    spread: Vector
    level_noise: Vector


def better_noise(
    found: Residuals, now: Parameters, settings: ProfileSettings, levels: Levels
) -> Noise:
    """Noises after one step."""
    n = found.by_assessor(np.ones(len(found.left)))
    uncertain = found.by_assessor(found.uncertain / found.level_factor)
    used = LESS_KNOWN * uncertain / (found.squares * now.noise)
    totals = found.by_assessor(found.left**2 / found.level_factor)
    totals += (1.0 - LESS_KNOWN) * uncertain
    worth = settings.noise_weight
    spread = now.spread if found.weight is None else _spread(found, found.weight, worth)
    if settings.equal_noise:
        return Noise(now.noise, np.full_like(spread, np.average(spread, weights=n)), np.ones(1))
    noise = mixed(totals, n - used, worth)
    squared = (found.left**2 + found.uncertain) / noise[found.assessor]
    typical = np.exp(np.average(np.log(noise), weights=n))
    return Noise(noise / typical, spread, _level_noise(levels, squared))


def mixed(totals: Vector, n: Vector, worth: float) -> Vector:
    """Mean of each, mixed with the mean of all."""
    found: Vector = (totals + worth * totals.sum() / n.sum()) / (n + worth)
    return found


def _spread(found: Residuals, weight: Vector, worth: float) -> Vector:
    """Squared scale of each assessor's Student noise.

    Divided by the sum of the weights rather than their number: the same fixed point, reached
    sooner (Kent, Tyler & Vardi 1994).
    """
    squared = (found.raw_left**2 + found.uncertain) / found.level_factor
    spread = mixed(found.by_assessor(weight * squared), found.by_assessor(weight), worth)
    raw = mixed(found.by_assessor(squared), found.by_assessor(np.ones(len(squared))), worth)
    return np.maximum(spread, _LEAST_SPREAD * raw)


def _level_noise(levels: Levels, squared: Vector) -> Vector:
    count = levels.count
    if count == 1:
        return np.ones(1)
    n = np.bincount(levels.code, minlength=count)
    total = sums(levels.code, squared, count)
    factor = (total + _LEVEL_WEIGHT) / (n + _LEVEL_WEIGHT)
    factor = np.clip(factor, 1.0 / _MOST_UNLIKE, _MOST_UNLIKE)
    found: Vector = factor / np.exp(np.average(np.log(factor), weights=n))
    return found
