"""What each cask of a plan costs the other releases."""

from __future__ import annotations

import numpy as np

from ..array_types import Floats, Ints
from .blocks import Problem
from .result import CaskPrice

_TOLD = 1e-3
"""Points below which a cask costs nothing worth telling."""


def prices_of(
    problem: Problem, fractions: list[Floats], reduced: list[Floats]
) -> list[tuple[CaskPrice, ...]]:
    """By block, its casks that others want, the dearest first.

    Parameters
    ----------
    problem, fractions
        The plan.
    reduced
        By block, what each cask would cost it at the prices of the rows: below zero by what it
        would save there.
    """
    saved = np.zeros((2, problem.n_casks))
    by: Ints = np.full((2, problem.n_casks), -1, dtype=np.intp)
    for at, (block, cost) in enumerate(zip(problem.blocks, reduced, strict=True)):
        casks, here = block.casks, np.maximum(-cost, 0.0)
        first = here > saved[0, casks]
        second = ~first & (here > saved[1, casks])
        ahead = casks[first]
        saved[1, ahead], by[1, ahead] = saved[0, ahead], by[0, ahead]
        saved[0, ahead], by[0, ahead] = here[first], at
        saved[1, casks[second]], by[1, casks[second]] = here[second], at
    names = problem.question.casks
    found = []
    for at, (block, given) in enumerate(zip(problem.blocks, fractions, strict=True)):
        casks = block.casks[given > 0.0]
        which = (by[0, casks] == at).astype(np.intp)  # the best of the others
        points = saved[which, casks]
        other = by[which, casks]
        order = np.argsort(-points, kind="stable")
        found.append(
            tuple(
                CaskPrice(
                    str(names[casks[k]]),
                    float(points[k]),
                    problem.blocks[other[k]].release.name,
                )
                for k in order
                if points[k] >= _TOLD
            )
        )
    return found
