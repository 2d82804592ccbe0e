"""A change of a plan, answered from the last one."""

from __future__ import annotations

import numpy as np

from ..array_types import Flags, Floats, Ints
from .blocks import Problem
from .chosen import Chosen
from .dual import Dual
from .result import WORTH, Prices, is_wide
from .search import (
    best_of_left,
    improved,
    is_of_few,
    keeps,
    poured,
    settled,
    sharpened,
    undecided,
    wanting,
)
from .until import Until

_MOVED = 600
_WAVES = (10_000, 3000)
"""Casks that may go elsewhere: at first, and wave by wave where that leaves a wide gap."""
_LARGE = 4000
"""Casks beyond which a rough look tells first whether so few that move will do."""
_HAIR = 1e-9


def from_earlier(chosen: Chosen, dual: Dual, begin: Prices, until: Until) -> list[Floats]:
    """A change of a plan: its prices and casks, and anew only what they say would move.

    Returns the casks of the earlier plan, for :func:`stay`.
    """
    problem = chosen.problem
    given = recalled(problem, begin.given)
    chosen.alone = _mended(problem, recalled(problem, begin.alone), until)
    chosen.offer(chosen.alone)
    if keeps(problem, given):
        chosen.offer(given)
    prices = dual.in_range(recalled_prices(dual, begin))
    chosen.proves(dual, prices)
    flexible = wanting(problem, given, dual.reduced(prices), _MOVED)
    if problem.n_casks > _LARGE and _far_off(chosen, given, flexible, until):
        _farther(chosen, given, dual, prices, until)
        return given
    linear = sharpened(problem, given, until, flexible)
    chosen.proves(dual, linear.prices)
    goal = [block.value(part) for block, part in zip(problem.blocks, linear.given, strict=True)]
    pairs = enumerate(zip(linear.given, given, strict=True))
    moved = [at for at, (one, other) in pairs if not np.array_equal(one, other)]
    found = poured(
        problem,
        linear.given,
        dual.reduced(linear.prices),
        until,
        only=moved,
    )
    chosen.offer(found)
    again = improved(problem, chosen.fractions, goal, until)
    chosen.offer(again)
    if is_wide(chosen.objective, chosen.bound) and problem.n_casks > _MOVED:
        _farther(chosen, given, dual, prices, until)
    return given


def _far_off(chosen: Chosen, before: list[Floats], flexible: Ints, until: Until) -> bool:
    """Whether no draws of so few casks come near, by a rough look; releases of few keep theirs."""
    problem = chosen.problem
    frozen, spent = few_that_stay(problem, before)
    rough = sharpened(problem, before, until, flexible[~spent[flexible]], frozen, close=None)
    kept = sum(problem.blocks[at].value(before[at]) for at in frozen)
    return is_wide(rough.bound + kept, chosen.bound)


def _farther(
    chosen: Chosen, before: list[Floats], dual: Dual, prices: Floats, until: Until
) -> None:
    """Let far more casks go elsewhere, wave by wave; releases of few casks keep theirs.

    What many casks have to make up for moves many a little; the draws of a release of few are made
    already, and no linear answer knows how they were. The first wave goes by the prices of the
    earlier plan, the next by those that the first came to.
    """
    problem, given = chosen.problem, before
    frozen, spent = few_that_stay(problem, before)
    for most in _WAVES:
        free = wanting(problem, given, dual.reduced(prices), most)
        linear = sharpened(problem, given, until, free[~spent[free]], frozen, close=None)
        given = linear.given
        anew = linear.prices.copy()
        for at in frozen:
            anew[dual.parts[at]] = prices[dual.parts[at]]
        prices = dual.in_range(anew)
        chosen.proves(dual, prices)
    whole = settled(problem, given)
    for at in frozen:
        whole[at] = before[at]
    free = undecided(problem, given, whole)
    linear = sharpened(problem, whole, until, free[~spent[free]], frozen)
    goal = [block.value(part) for block, part in zip(problem.blocks, linear.given, strict=True)]
    rest = [at for at in range(len(problem.blocks)) if at not in frozen]
    found = poured(problem, linear.given, dual.reduced(linear.prices), until, only=rest)
    if keeps(problem, found):
        found = improved(problem, found, goal, until)
    chosen.offer(found)


def few_that_stay(problem: Problem, given: list[Floats]) -> tuple[frozenset[int], Flags]:
    """Blocks of few casks that lack nothing, and which casks are theirs."""
    stay, spent = set(), np.zeros(problem.n_casks, dtype=np.bool_)
    for at, (block, part) in enumerate(zip(problem.blocks, given, strict=True)):
        if is_of_few(block) and np.any(part > 0.0) and block.missing(part) <= 0.0:
            stay.add(at)
            spent[block.casks[part > 0.0]] = True
    return frozenset(stay), spent


def stay(chosen: Chosen, before: list[Floats]) -> None:
    """Let each release keep its casks of before where they are as good: only the change is told.

    A plan as near may be made of other casks, and of such there are many.
    """
    problem = chosen.problem
    for at, block in enumerate(problem.blocks):
        if np.array_equal(chosen.fractions[at], before[at]):
            continue
        tried = [*chosen.fractions]
        tried[at] = before[at]
        worse = block.value(before[at]) - block.value(chosen.fractions[at])
        if worse <= WORTH and keeps(problem, tried):
            chosen.fractions, chosen.objective = tried, problem.value(tried)
    pairs = enumerate(zip(chosen.fractions, before, strict=True))
    chosen.moved = frozenset(at for at, (one, other) in pairs if not np.array_equal(one, other))


def _mended(problem: Problem, given: list[Floats], until: Until) -> list[Floats]:
    """An earlier answer without the releases that it no longer makes."""
    found = [np.zeros_like(part) for part in given]
    if keeps(problem, given) and all(
        block.missing(part) <= 0.0 for block, part in zip(problem.blocks, given, strict=True)
    ):
        return given
    for at, part in enumerate(given):
        found[at] = part
        if problem.blocks[at].missing(part) > 0.0 or not keeps(problem, found):
            found[at] = np.zeros_like(part)
            found[at] = best_of_left(problem, found, at, until)
            if not keeps(problem, found):
                found[at] = np.zeros_like(part)
    return found


def recalled_prices(dual: Dual, begin: Prices) -> Floats:
    """Prices of an earlier plan on the rows of this one; 0 where it had none."""
    prices = np.zeros(dual.width)
    for block, rows, part in zip(dual.problem.blocks, dual.rows, dual.parts, strict=True):
        known = begin.rows.get(block.release.name, {})
        prices[part] = [known.get(name, 0.0) for name in rows.names]
    prices[dual.n_rows :] = [begin.house.get(row.name, 0.0) for row in dual.house]
    return prices


def recalled(problem: Problem, given: object) -> list[Floats]:
    """Fractions of an earlier plan, for casks that may still go where they went."""
    known = dict(given) if isinstance(given, dict) else {}
    names, found = problem.question.casks, []
    left = np.ones(problem.n_casks)
    for block in problem.blocks:
        before = known.get(block.release.name, {})
        part = np.array([before.get(str(name), 0.0) for name in names[block.casks]])
        part = np.where(part > left[block.casks] + _HAIR, 0.0, part)
        left[block.casks] -= part
        found.append(part)
    return found
