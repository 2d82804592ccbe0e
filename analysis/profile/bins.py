"""Bins of the level, each with a noise of its own, and how the scores alone sort the samples."""

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


def levels_of(problem: FitProblem) -> Levels:
    """As many bins as are wanted, of the same number of glasses; one where these are too few.

    They are cut from the scores alone. Bins that are cut from where a fit stands give it more than
    one place to rest in: what it ends at would hang on where it began. Where scores lie at the
    ends of the line there is one bin: their plain means take luck for noise.
    """
    wanted = 1 if problem.settings.equal_noise else problem.settings.noise_levels
    if wanted == 1 or problem.ends is not None or len(problem.y) < wanted * _LEAST_IN_LEVEL:
        return Levels.none(len(problem.y))
    level = rough_level(problem)[problem.layout.glasses.sample]
    found = Levels.cut(level, np.unique(np.quantile(level, np.arange(1, wanted) / wanted)))
    enough = np.bincount(found.code, minlength=found.count).min() >= _LEAST_IN_LEVEL
    return found if enough else Levels.none(len(problem.y))
