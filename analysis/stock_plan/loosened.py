"""Which single limit of a release keeps it from being filled, and how far it must go.

Each is loosened alone, on what the other releases leave, and told only where casks then fill it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import ceil

from ..array_types import Floats
from ..counted import count
from ..digits import in_digits
from ..vatting.limits import Drawing, LimitKind, Limits
from .blocks import Block, Problem
from .chances import reckon, vatting_of
from .fewer import made_as
from .result import SURE_ENOUGH, Mend, MendKind
from .until import Until
from .verdict import loosened_sentence

_OVER = (0.05, 0.08, 0.1, 0.12, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5)
WIDEST_OVER = _OVER[-1]
WEAKEST, _YOUNGEST = 40, 3
"""% vol and years that whisky has at least: Regulation (EU) 2019/787, Annex I, category 2."""


@dataclass(frozen=True)
class Looser:
    """One limit of a release, loosened."""

    kind: LimitKind
    limits: Limits
    words: str


def ways(limits: Limits) -> Iterator[tuple[Looser, ...]]:
    """By limit, what it may be loosened to: the least first."""
    yield tuple(
        Looser(
            LimitKind.EXCESS,
            replace(limits, excess_fraction=over),
            f"up to {in_digits(100 * over, 'g')} % over",
        )
        for over in _OVER
        if over > limits.window
    )
    yield tuple(
        Looser(LimitKind.CASKS_MIN, replace(limits, casks_min=few), f"{few} or more casks")
        for few in range((limits.casks_min or 1) - 1, 0, -1)
    )
    if limits.casks_max is not None:
        yield tuple(
            Looser(
                LimitKind.CASKS_MAX, replace(limits, casks_max=many), f"up to {count(many, 'cask')}"
            )
            for many in range(limits.casks_max + 1, 2 * limits.casks_max + 1)
        )
    if limits.whole:
        parts = replace(limits, drawing=Drawing.PART)
        yield (Looser(LimitKind.WHOLE, parts, "parts of casks"),)
    if limits.abv_percent is not None:
        yield tuple(
            Looser(LimitKind.STRENGTH, replace(limits, abv_percent=float(abv)), f"{abv} % vol")
            for abv in range(ceil(limits.abv_percent) - 1, WEAKEST - 1, -1)
        )
    yield tuple(
        Looser(LimitKind.AGE, replace(limits, age_statement_years=age), f"{age} years on the label")
        for age in range((limits.age_statement_years or 0) - 1, youngest(limits) - 1, -1)
    )


def youngest(limits: Limits) -> int:
    """The least age that may stand on the label, whole years."""
    return max(_YOUNGEST, ceil(limits.minimum_age_years or 0.0))


def loosened(problem: Problem, fractions: list[Floats], at: int, until: Until) -> list[Mend]:
    """The limits each of which, loosened alone, lets a release be filled that lacks casks.

    Those with which it is sure enough as well; only where there is none, the others.

    Raises
    ------
    TimeIsOver
        Before each was tried.
    """
    found = list(_each_alone(problem, fractions, at, until))
    return [mend for mend in found if mend.is_enough] or found


def _each_alone(problem: Problem, fractions: list[Floats], at: int, until: Until) -> Iterator[Mend]:
    if problem.blocks[at].missing(fractions[at]) <= 0.0:
        return
    for way in ways(problem.blocks[at].release.limits):
        found = _least(problem, fractions, at, way, until)
        if found is None:
            continue
        looser, chance = found
        name = problem.blocks[at].release.name
        said = loosened_sentence(name, f"with {looser.words}", chance)
        yield Mend(MendKind.LOOSEN, said, limit=looser.kind, probability=chance)


def let_go(
    problem: Problem, fractions: list[Floats], at: int, cask: str, until: Until
) -> Iterator[Mend]:
    """A release without a cask that must be in it, and that another must have too."""
    release = problem.blocks[at].release
    kept = tuple(name for name in release.limits.must_include if name != cask)
    asked = replace(release, limits=replace(release.limits, must_include=kept))
    found = made_as(problem, fractions, at, asked, until)
    if found is not None:
        chance = _chance(*found)
        said = loosened_sentence(release.name, f"without cask {cask}", chance)
        yield Mend(MendKind.LOOSEN, said, limit=LimitKind.MUST_INCLUDE, probability=chance)


def _least(
    problem: Problem, fractions: list[Floats], at: int, way: Sequence[Looser], until: Until
) -> tuple[Looser, float | None] | None:
    """The least that fills it and is sure enough, and the chance of its notes.

    Where the most is not sure enough, the least that fills it. The most is tried first.
    """
    release = problem.blocks[at].release

    @cache
    def filled(which: int) -> tuple[Block, Floats] | None:
        asked = replace(release, limits=way[which].limits)
        return made_as(problem, fractions, at, asked, until)

    @cache
    def sure(which: int) -> bool:
        found = filled(which)
        chance = None if found is None else _chance(*found)
        return found is not None and (chance is None or chance >= SURE_ENOUGH)

    last = len(way) - 1
    if not way or filled(last) is None:
        return None
    which = bisect_left(range(last), True, key=lambda one: filled(one) is not None)
    if not sure(which) and sure(last):
        which = bisect_left(range(last), True, lo=which, key=sure)
    found = filled(which)
    return None if found is None else (way[which], _chance(*found))


def _chance(block: Block, found: Floats) -> float | None:
    if block.litres_only:
        return None
    return reckon([vatting_of(block, found)]).each[0].probability
