"""How much less of a release can be had: each amount that is told was tried by all its limits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import floor

import numpy as np

from ..array_types import Floats
from .blocks import Block, Problem, build_block, house_rows
from .must_be_in import without
from .question import PlannedRelease
from .search import best_of_left, keeps
from .until import no_limit

_TRIES = 12
_LEAST_STEP = 0.01


def fewer_of(
    problem: Problem,
    fractions: list[Floats],
    at: int,
    most: int,
    good: Callable[[Block, Floats], bool],
) -> int | None:
    """The most bottles (litres where those are asked) of a few that were tried downwards.

    Parameters
    ----------
    problem, fractions, at
        What the other releases take, and the release; what it gets itself is tried as it is, then
        nothing of it is taken.
    most
        Where to begin.
    good
        What else must hold of the casks that it gets.
    """
    if most >= 1:
        block = fills(problem, fractions, at, most)
        if block is not None and good(block, fractions[at]):
            return most
    limits = problem.blocks[at].release.limits
    step = max(limits.window, _LEAST_STEP)
    given, amount = [*fractions], most
    given[at] = np.zeros(problem.blocks[at].model.n)
    for _ in range(_TRIES):
        if amount < 1:
            return None
        there = with_amount(problem, at, amount)
        block = there.blocks[at]
        given[at] = np.zeros(block.model.n)
        found = best_of_left(there, given, at, no_limit())
        if is_made(block, found) and good(block, found):
            return amount
        amount = min(amount - 1, floor(amount * (1.0 - step)))
    return None


def fills(problem: Problem, fractions: list[Floats], at: int, amount: int) -> Block | None:
    """A release with another amount, where what it gets in the plan is all of that; else None."""
    there = with_amount(problem, at, amount)
    block = there.blocks[at]
    made = is_made(block, fractions[at]) and keeps(there, fractions)
    return block if made else None


def with_amount(problem: Problem, at: int, amount: int) -> Problem:
    """The problem with another amount of one release: of the same casks, so in the same rows."""
    before = problem.blocks[at]
    asked = before.release.limits
    in_litres = asked.bottles is None
    limits = replace(asked, litres=amount) if in_litres else replace(asked, bottles=amount)
    block = build_block(problem.question, replace(before.release, limits=limits))
    return replace(problem, blocks=(*problem.blocks[:at], block, *problem.blocks[at + 1 :]))


def made_as(
    problem: Problem, fractions: list[Floats], at: int, release: PlannedRelease
) -> tuple[Block, Floats] | None:
    """What the others leave, made into a release that is asked for otherwise; None if it cannot."""
    block = build_block(problem.question, release)
    blocks = (*problem.blocks[:at], block, *problem.blocks[at + 1 :])
    there = replace(problem, blocks=blocks, house=house_rows(problem.question, blocks))
    given = [*fractions]
    given[at] = np.zeros(block.model.n)
    found = best_of_left(there, given, at, no_limit())
    return (block, found) if is_made(block, found) else None


def is_made(block: Block, fractions: Floats) -> bool:
    """Whether all of a release is there, and every cask that must be in."""
    there = bool((fractions > 0.0).any()) and block.missing(fractions) <= 0.0
    return there and not without(block, fractions)
