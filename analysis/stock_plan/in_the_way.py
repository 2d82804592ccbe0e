"""What keeps a release from being filled: each thing that alone does, else what together does.

Each thing that might be is let go by itself, as far as it goes. Where none does, all are let go,
then each is held again where casks still fill it: what is left over cannot be held together. Of n
things that makes n tries, and n + 1 more where none does alone; each share and each cask that must
be in is a thing of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from enum import Enum, auto

import numpy as np

from ..array_types import Floats
from ..vatting.limits import Drawing, LimitKey, LimitKind, Limits, limit_keys
from ..vatting.verdict import limit_words
from .blocks import Problem
from .fewer import made_as
from .loosened import WEAKEST, WIDEST_OVER, youngest
from .question import HouseLimits
from .result import InTheWay
from .until import Until
from .verdict import in_the_way_sentence


class _Else(Enum):
    """What is no limit of the release itself."""

    OTHERS = auto()
    HOUSE = auto()


Obstacle = _Else | LimitKey

_LOOSE: Mapping[LimitKind, Callable[[Limits], Limits]] = {
    LimitKind.EXCESS: lambda all_of: replace(
        all_of, excess_fraction=max(all_of.window, WIDEST_OVER)
    ),
    LimitKind.STRENGTH: lambda all_of: replace(
        all_of, abv_percent=min(all_of.abv_percent or WEAKEST, WEAKEST)
    ),
    LimitKind.AGE: lambda all_of: replace(
        all_of, age_statement_years=min(all_of.age_statement_years or 0, youngest(all_of))
    ),
    LimitKind.CASKS_MIN: lambda all_of: replace(all_of, casks_min=None),
    LimitKind.CASKS_MAX: lambda all_of: replace(all_of, casks_max=None),
    LimitKind.WHOLE: lambda all_of: replace(all_of, drawing=Drawing.PART, smallest_draw_litres=0.0),
    LimitKind.SMALLEST_DRAW: lambda all_of: replace(all_of, smallest_draw_litres=0.0),
    LimitKind.LEAVE: lambda all_of: replace(all_of, leave_litres=None),
}
"""Limits that are loosened as far as they go; shares and casks that must be in besides."""
_EACH = frozenset({LimitKind.SHARE, LimitKind.MUST_INCLUDE})


def loosest(limits: Limits, keys: Sequence[LimitKey]) -> Limits:
    """Return limits of which some are as loose as they go."""
    gone = {kind: {key.which for key in keys if key.kind is kind} for kind in _EACH}
    shares, casks = limits.shares, limits.must_include
    found = replace(
        limits,
        shares=tuple(each for at, each in enumerate(shares) if at not in gone[LimitKind.SHARE]),
        must_include=tuple(
            each for at, each in enumerate(casks) if at not in gone[LimitKind.MUST_INCLUDE]
        ),
    )
    for key in keys:
        found = _LOOSE[key.kind](found) if key.kind in _LOOSE else found
    return found


def in_the_way(problem: Problem, fractions: list[Floats], at: int, until: Until) -> InTheWay | None:
    """Give what keeps a release that lacks casks from being filled; None where it lacks none.

    Parameters
    ----------
    problem, fractions, at
        The plan, and which release.
    until
        The limit by the clock.

    Raises
    ------
    TimeIsOver
        Before each was tried: of what alone does not do some may be left.
    """
    block = problem.blocks[at]
    if block.missing(fractions[at]) <= 0.0:
        return None
    limits = block.release.limits
    every = tuple(_obstacles(problem, fractions, at))

    def filled(loose: tuple[Obstacle, ...]) -> bool:
        return _is_filled(problem, fractions, at, loose, until)

    alone = tuple(each for each in every if filled((each,)))
    left = alone or (_together(every, filled) if len(every) > 1 and filled(every) else ())
    keys = tuple(each for each in left if isinstance(each, LimitKey))
    words = tuple(limit_words(key, limits) for key in keys)
    others, house = (each in left for each in _Else)
    said = in_the_way_sentence(
        *(block.release.name, words, limits.quantity_words),
        others=others,
        house=house,
        found=bool(left),
        each_alone=bool(alone),
    )
    return InTheWay(keys, words, others, house, bool(alone), said)


def _obstacles(problem: Problem, fractions: list[Floats], at: int) -> Iterator[Obstacle]:
    """Give what might be in the way: first what is rather held again, so that less is blamed."""
    if any(other != at and np.any(given > 0.0) for other, given in enumerate(fractions)):
        yield _Else.OTHERS
    if any(np.isfinite(row.limit) and row.litres[at] is not None for row in problem.house):
        yield _Else.HOUSE
    for key in limit_keys(problem.blocks[at].release.limits):
        if key.kind in _LOOSE or key.kind in _EACH:
            yield key


def _together(
    every: tuple[Obstacle, ...], filled: Callable[[tuple[Obstacle, ...]], bool]
) -> tuple[Obstacle, ...]:
    """Hold again one after another of what fills it let go together: a set with none too many."""
    loose = every
    for each in every:
        rest = tuple(other for other in loose if other != each)
        if len(rest) > 1 and filled(rest):
            loose = rest
    return loose


def _is_filled(
    problem: Problem,
    fractions: list[Floats],
    at: int,
    loose: tuple[Obstacle, ...],
    until: Until,
) -> bool:
    release = problem.blocks[at].release
    keys = [each for each in loose if isinstance(each, LimitKey)]
    given = [np.zeros_like(each) for each in fractions] if _Else.OTHERS in loose else fractions
    free = replace(problem.question, house=HouseLimits())
    there = replace(problem, question=free) if _Else.HOUSE in loose else problem
    asked = replace(release, limits=loosest(release.limits, keys))
    return made_as(there, given, at, asked, until) is not None
