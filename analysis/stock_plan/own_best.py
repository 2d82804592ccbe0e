"""Release after release, each its own surest: what stands beside a plan, judged as the plan is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..array_types import Floats
from .blocks import Problem
from .choose import is_small
from .search import best_of_left, keeps
from .starts import surest_of_starts
from .surest import chance_that_chooses
from .until import no_limit

_RISES = 1e-9


def own_best(problem: Problem, alone: Sequence[Floats], plan: Sequence[Floats]) -> list[Floats]:
    """Let each release in turn grow as sure as it can of what those before it leave.

    Parameters
    ----------
    problem
        Blocks and house rows.
    alone
        What lies nearest for each, one after another.
    plan
        The plan beside which it is told: its casks for a release are tried too, where they are
        still there, so that no release would have done better with what it could have taken.

    Returns
    -------
    list of array
        Fractions by block. As in a plan quantity comes first, then the chance.
    """
    found = [part.copy() for part in alone]
    for at in range(len(problem.blocks)):
        if not keeps(problem, _up_to(found, at)):
            found[at] = _of_left(problem, _up_to(found, at - 1), at)
        found[at] = _surer(problem, found, at, plan[at])
    return found


def _of_left(problem: Problem, found: list[Floats], at: int) -> Floats:
    """What lies nearest of what is left; nothing where that breaks a limit of its own."""
    exact = is_small(problem)
    found[at] = best_of_left(problem, found, at, no_limit(), exact=exact)
    return found[at] if keeps(problem, found) else np.zeros_like(found[at])


def _surer(problem: Problem, found: list[Floats], at: int, planned: Floats) -> Floats:
    block = problem.blocks[at]
    if block.litres_only:
        return found[at]
    share = 1.0 / len(problem.blocks)
    others = _up_to(found, at) if is_small(problem) else found
    only = frozenset({at})
    own = surest_of_starts(problem, others, only, counted=(at,), work_share=share)[at]
    with_planned = [*found[:at], planned, *_up_to(found, at)[at + 1 :]]
    if not np.any(planned > 0.0) or not keeps(problem, with_planned):
        return own
    if not np.any(own > 0.0):
        return planned
    more = block.missing(own) - block.missing(planned)
    if abs(more) > _RISES:
        return planned if more > 0.0 else own
    chances = (chance_that_chooses(problem, part, at) for part in (own, planned))
    return planned if next(chances) + _RISES < next(chances) else own


def _up_to(found: Sequence[Floats], last: int) -> list[Floats]:
    """What the releases to the last one take, those after it nothing."""
    return [part if at <= last else np.zeros_like(part) for at, part in enumerate(found)]
