"""Which limits cannot stand together, when nothing can be found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, count

import numpy as np

from ..array_types import Floats
from .dive import dive, keeps_limits
from .integer import solve_integer
from .limits import LimitKey, LimitKind, limit_keys
from .model import Model, build_model
from .relax import Relaxed, solve_relaxed
from .solve import screened
from .swap import swap_search
from .task import Task, band_of

_LOOKS = 60
"""Sets of limits that are looked at, at most."""
_NODES, _KICKS = 100, 60
"""Of the integer program and of the swaps of one look."""
_WHOLE_PROGRAM = 1500
_TRIED_SIZE = 2
_NOT_TOLD = {LimitKind.SMALLEST_DRAW, LimitKind.MUST_EXCLUDE}


@dataclass(frozen=True)
class Conflict:
    """Limits that cannot stand together.

    Attributes
    ----------
    keys
        The fewest found; leaving out any one of them makes the rest possible.
    proven
        Whether it is certain that they cannot; else no vatting that keeps them was found.
    """

    keys: tuple[LimitKey, ...]
    proven: bool


def find_conflict(task: Task) -> Conflict:
    """Find a smallest set of limits that cannot stand together, whatever it smells of.

    One limit after another is left out; where the rest still cannot stand, it stays out. What
    remains is a set of which each is needed for the conflict. Then single limits and pairs are
    tried, since another conflict may be smaller.

    Parameters
    ----------
    task
        What was asked.

    Returns
    -------
    Conflict
        Without keys when the limits can stand together after all. After some dozen looks what is
        left is told as it is.
    """
    looks = count()
    everything = limit_keys(task.limits)
    standing = _stands(task, everything, everything)
    if standing:
        return Conflict((), proven=False)
    kept, certain = _filtered(task, everything, looks)
    fewer = _smaller(task, everything, kept, looks)
    return Conflict(fewer or kept, certain and standing is False)


def _filtered(
    task: Task, everything: tuple[LimitKey, ...], looks: count[int]
) -> tuple[tuple[LimitKey, ...], bool]:
    """Deletion filter; what is hard to change is left out last, so that it is told least."""
    kept, certain = list(everything), True
    for key in sorted(everything, key=_reluctance):
        if next(looks) >= _LOOKS:
            return tuple(kept), False
        rest = [other for other in kept if other != key]
        standing = _stands(task, everything, rest)
        if not standing:
            kept = rest
            certain = certain and standing is False
    return tuple(kept), certain


def _reluctance(key: LimitKey) -> tuple[bool, LimitKey]:
    """Order in which limits are left out: first those that nobody would name as the cause."""
    return key.kind not in _NOT_TOLD, key


def _smaller(
    task: Task,
    everything: tuple[LimitKey, ...],
    kept: tuple[LimitKey, ...],
    looks: count[int],
) -> tuple[LimitKey, ...]:
    """A smaller set in conflict than the one found, if there is one; empty if not."""
    for size in range(1, min(len(kept), _TRIED_SIZE + 1)):
        for some in combinations(everything, size):
            if next(looks) >= _LOOKS:
                return ()
            if not set(some) >= set(kept) and _stands(task, everything, some) is False:
                return some
    return ()


def _stands(task: Task, everything: Sequence[LimitKey], kept: Sequence[LimitKey]) -> bool | None:
    """Whether some limits can stand together; None when that did not show."""
    lifted = frozenset(everything) - frozenset(kept)
    model = _without_band(build_model(task, band_of(task), lifted=lifted))
    if not model.n:
        return LimitKey(LimitKind.QUANTITY) not in kept
    relaxed = solve_relaxed(model)
    if not relaxed.feasible:
        return False
    if keeps_limits(model, _tidy(relaxed.fractions)):
        return True
    return _look(model, relaxed)


def _tidy(fractions: Floats) -> Floats:
    return np.where(fractions < 1e-9, 0.0, fractions)


def _look(model: Model, relaxed: Relaxed) -> bool | None:
    """Look for whole casks or draws that keep the limits."""
    if model.whole:
        found = swap_search(model, relaxed.fractions, relaxed.reduced_cost, np.inf, _KICKS)
        if found.kept:
            return True
    elif dive(model.only(screened(model, relaxed))) is not None:
        return True
    columns = screened(model, relaxed, _WHOLE_PROGRAM)
    program = solve_integer(model.only(columns), np.inf, feasible_only=True, nodes=_NODES)
    if program.fractions is not None:
        return True
    return False if program.infeasible and len(columns) == model.n else None


def _without_band(model: Model) -> Model:
    n = model.n
    return replace(
        model,
        soft=np.empty((0, n)),
        soft_line=np.empty(0, dtype=np.intp),
        soft_weight=np.empty(0),
    )
