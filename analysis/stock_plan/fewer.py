"""How much less of a release can be had: each amount that is told was tried by all its limits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import floor

import numpy as np

from ..array_types import Floats
from ..under_way import go_on
from .blocks import Block, Problem, build_block, house_rows
from .must_be_in import without
from .question import PlannedRelease
from .search import best_of_left, keeps
from .until import Until

_TRIES = 12
_LEAST_STEP = 0.01


@dataclass(frozen=True)
class Had:
    """An amount that can be had, and whether the casks of the plan are those that give it."""

    amount: int
    own: bool


def fewer_of(
    problem: Problem,
    fractions: list[Floats],
    at: int,
    most: int,
    good: Callable[[Block, Floats], bool],
    until: Until,
) -> Had | None:
    """The most bottles (litres where those are asked) of some that were tried downwards.

    Between the last that cannot be had and the first that can more are tried, to a hundredth.

    Parameters
    ----------
    problem, fractions
        What the other releases take, and what it gets itself, which is tried as it is; then
        nothing of it is taken.
    at
        Which release.
    most
        Where to begin.
    good
        What else must hold of the casks that it gets.
    until
        The limit by the clock.

    Raises
    ------
    TimeIsOver
        Before an amount was found, or while more of it was looked for.
    """
    own = filled_by_own(problem, fractions, at, most)
    if own is not None and good(own[0], fractions[at]):
        return Had(own[1], own=True)
    given = [*fractions]

    def had(amount: int) -> bool:
        there = with_amount(problem, at, amount)
        block = there.blocks[at]
        given[at] = np.zeros(block.model.n)
        found = best_made(there, given, at, until)
        return found is not None and good(block, found)

    found = _downwards(had, most, max(problem.blocks[at].release.limits.window, _LEAST_STEP))
    return None if found is None else Had(found, own=False)


def _downwards(had: Callable[[int], bool], most: int, step: float) -> int | None:
    """The most that can be had of what is tried in steps down, then between the last two."""
    amount, missed = most, None
    for _ in range(_TRIES):
        if amount < 1:
            return None
        if had(amount):
            return _between(had, amount, missed)
        missed, amount = amount, min(amount - 1, floor(amount * (1.0 - step)))
    return None


def _between(had: Callable[[int], bool], amount: int, missed: int | None) -> int:
    """The most that can be had of amounts between one that can and one that cannot."""
    while missed is not None and missed - amount > max(1.0, _LEAST_STEP * missed):
        middle = (amount + missed) // 2
        if had(middle):
            amount = middle
        else:
            missed = middle
    return amount


def filled_by_own(
    problem: Problem, fractions: list[Floats], at: int, most: int
) -> tuple[Block, int] | None:
    """The most that what a release gets in the plan comes to, asked for, and the release with it.

    The less is asked for, the fewer casks it takes and the less their errors average out, so that
    each counts for less: looked for from `most` downwards. None where they come to nothing.
    """
    amount = most
    for _ in range(_TRIES):
        if amount < 1:
            return None
        there = with_amount(problem, at, amount)
        block = there.blocks[at]
        if is_made(block, fractions[at]) and keeps(there, fractions):
            return block, amount
        amount = min(amount - 1, floor((1.0 - block.missing(fractions[at])) * amount))
    return None


def with_amount(problem: Problem, at: int, amount: int) -> Problem:
    """The problem with another amount of one release: of the same casks, so in the same rows."""
    before = problem.blocks[at]
    asked = before.release.limits
    in_litres = asked.bottles is None
    limits = replace(asked, litres=amount) if in_litres else replace(asked, bottles=amount)
    block = build_block(problem.question, replace(before.release, limits=limits))
    return replace(problem, blocks=(*problem.blocks[:at], block, *problem.blocks[at + 1 :]))


def made_as(
    problem: Problem, fractions: list[Floats], at: int, release: PlannedRelease, until: Until
) -> tuple[Block, Floats] | None:
    """What the others leave, made into a release that is asked for otherwise; None if it cannot.

    Raises
    ------
    TimeIsOver
        Before it was known.
    """
    block = build_block(problem.question, release)
    blocks = (*problem.blocks[:at], block, *problem.blocks[at + 1 :])
    there = replace(problem, blocks=blocks, house=house_rows(problem.question, blocks))
    given = [*fractions]
    given[at] = np.zeros(block.model.n)
    found = best_made(there, given, at, until)
    return None if found is None else (block, found)


def best_made(problem: Problem, fractions: list[Floats], at: int, until: Until) -> Floats | None:
    """What the others leave, made into a release; None if it cannot.

    Raises
    ------
    TimeIsOver
        Before it was known.
    StoppedError
        Nobody waits for it any more.
    """
    go_on()
    until.in_time()
    found = best_of_left(problem, fractions, at, until)
    if is_made(problem.blocks[at], found):
        return found
    until.in_time()
    return None


def is_made(block: Block, fractions: Floats) -> bool:
    """Whether all of a release is there, and every cask that must be in."""
    there = bool((fractions > 0.0).any()) and block.missing(fractions) <= 0.0
    return there and not without(block, fractions)
