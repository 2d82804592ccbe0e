"""Bins of the level, each with a noise of its own."""

from __future__ import annotations

import numpy as np

from ..array_types import Vector
from .layout import sums
from .parameters import FitProblem, Levels

_LEAST_IN_LEVEL = 40
"""Glasses in a bin below which its noise is not estimated."""


def rough_level(problem: FitProblem) -> Vector:
    """Mean score of each sample above those of the blocks it was in."""
    lay = problem.layout
    n = np.bincount(lay.block, minlength=lay.n_blocks)
    above = problem.y - (sums(lay.block, problem.y, lay.n_blocks) / n)[lay.block]
    sample, size = lay.glasses.sample, lay.glasses.n_samples
    found: Vector = sums(sample, above, size) / np.bincount(sample, minlength=size)
    return found


def binned(problem: FitProblem, level: Vector) -> Levels | None:
    """As many bins as are wanted, of the same number of glasses; None where these are too few."""
    wanted = 1 if problem.settings.equal_noise else problem.settings.noise_levels
    if wanted == 1 or len(problem.y) < wanted * _LEAST_IN_LEVEL:
        return None
    found = Levels.cut(level, np.unique(np.quantile(level, np.arange(1, wanted) / wanted)))
    enough = np.bincount(found.code, minlength=found.count).min() >= _LEAST_IN_LEVEL
    return found if enough else None
