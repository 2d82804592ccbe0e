"""The search for a plan: always with a best one at hand, and a bound beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from time import perf_counter

import numpy as np

from ..array_types import Floats
from ..errors import StoppedError
from ..under_way import Stage, step
from .blocks import Problem
from .dual import Dual
from .program import solve_program
from .result import PROVEN_GAP, Ended, Prices
from .search import (
    best_of_left,
    few_take_little,
    improved,
    keeps,
    poured,
    sharpened,
    solve_linear,
    wanting,
    worth_of,
)
from .until import Until

WHOLE_PROGRAM_CASKS, WHOLE_PROGRAM_RELEASES = 200, 5
"""Up to so many the full integer program runs, every draw a decision of its own."""
_NODES = 500
"""Of the full integer program."""
_PROGRAM_PAIRS, _NODES_AFTER = 400, 5
"""Where few casks make each release, only the whole program finds what prices leave over."""
_ALONE_SHARE = 0.25
_LINEAR_SHARE = 0.55
_ROUNDS = 8
_SHY = (0.03, 1.0, 0.1, 0.3)
"""Turn by turn, what a cask's worth to the others counts beside the points of the release that
chooses anew: each finds what the others do not."""
_MOVED = 600
_STEPS_OF_LINEAR = 2
_WORTH = 0.01
_NEAR = 0.05
_HAIR = 1e-9


@dataclass(eq=False)
class Chosen:
    """What has been found so far.

    Attributes
    ----------
    fractions, objective
        The best plan, by block, and its value.
    alone
        What release after release gives.
    bound, prices
        What no plan goes below, and the prices that prove it.
    ended
        Why the search ended.
    moved
        Blocks that draw otherwise than an earlier plan; None where there was none.
    """

    problem: Problem
    fractions: list[Floats]
    alone: list[Floats]
    objective: float = np.inf
    bound: float = -np.inf
    prices: Floats = field(default_factory=lambda: np.zeros(0))
    ended: Ended = Ended.DONE
    moved: frozenset[int] | None = None

    def offer(self, fractions: list[Floats]) -> bool:
        """Keep a plan when it is better and breaks nothing."""
        value = self.problem.value(fractions)
        if value >= self.objective or not keeps(self.problem, fractions):
            return False
        self.fractions, self.objective = [part.copy() for part in fractions], value
        return True

    def proves(self, dual: Dual, prices: Floats) -> None:
        """Keep a bound when it is higher."""
        bound = dual.bound(prices)
        if bound > self.bound:
            self.bound, self.prices = bound, prices

    @property
    def proven(self) -> bool:
        """Whether no better plan exists, to a thousandth of a point."""
        return self.objective - self.bound <= PROVEN_GAP


def choose(
    problem: Problem,
    seconds: float,
    begin: Prices | None = None,
    clock: Callable[[], float] = perf_counter,
) -> Chosen:
    """Search for a plan until nothing better is found, the time is over or nobody waits.

    Where it ends by itself it does so by counts of work, at the same plan on every machine.

    Parameters
    ----------
    problem
        Blocks and house rows.
    seconds
        The outer limit; a step that has begun may run over a little.
    begin
        What an earlier plan of nearly the same question left.
    clock
        Seconds, rising: what the limit is measured by.
    """
    until = Until(seconds, clock)
    nothing = [np.zeros(block.model.n) for block in problem.blocks]
    chosen = Chosen(problem, nothing, nothing, objective=problem.value(nothing))
    dual = Dual(problem)
    chosen.proves(dual, np.zeros(dual.width))
    try:
        if begin is not None:
            _from_earlier(chosen, dual, begin, until)
        elif is_small(problem):
            _in_full(chosen, dual, until)
        else:
            _by_prices(chosen, dual, until)
        if until.bit:
            chosen.ended = Ended.TIME
    except StoppedError:
        chosen.ended = Ended.STOPPED
    if chosen.proven and chosen.ended is Ended.DONE:
        chosen.ended = Ended.PROVEN
    return chosen


def is_small(problem: Problem) -> bool:
    """Whether the full integer program runs."""
    few = problem.n_casks < WHOLE_PROGRAM_CASKS
    return few and len(problem.blocks) <= WHOLE_PROGRAM_RELEASES


def _in_full(chosen: Chosen, dual: Dual, until: Until) -> None:
    problem = chosen.problem
    _one_by_one(chosen, until, exact=True)
    linear = solve_linear(problem, until)
    chosen.proves(dual, linear.prices)
    found = solve_program(problem, until.left, _NODES)
    if found is not None:
        chosen.offer(found.fractions)
        chosen.bound = max(chosen.bound, found.bound)


def _by_prices(chosen: Chosen, dual: Dual, until: Until) -> None:
    problem, count = chosen.problem, len(chosen.problem.blocks)
    total = 2 * count + _STEPS_OF_LINEAR + _ROUNDS
    _one_by_one(chosen, until.part(_ALONE_SHARE))
    step(Stage.PLANNING, count, total)
    linear = solve_linear(problem, until.part(_LINEAR_SHARE))
    chosen.proves(dual, linear.prices)
    if until.over():
        return
    goal = [block.value(given) for block, given in zip(problem.blocks, linear.given, strict=True)]
    done = count + _STEPS_OF_LINEAR
    reduced = dual.reduced(linear.prices)

    def tell(so_far: int) -> None:
        step(Stage.PLANNING, done + so_far, total)

    chosen.offer(poured(problem, linear.given, reduced, until, tell))
    wide = chosen.objective - chosen.bound > max(_WORTH, _NEAR * chosen.bound)
    if wide and not until.over() and few_take_little(problem):
        other = solve_linear(problem, until, linear)
        rest = [at for at in range(count) if at not in other.poured]
        chosen.offer(poured(problem, other.given, dual.reduced(other.prices), until, only=rest))
        pairs = zip(problem.blocks, other.given, goal, strict=True)
        goal = [min(block.value(given), least) for block, given, least in pairs]
    _improve(chosen, goal, until, worth_of(problem, reduced), (2 * count + _STEPS_OF_LINEAR, total))
    if problem.pairs <= _PROGRAM_PAIRS and chosen.objective - chosen.bound > _WORTH:
        found = solve_program(problem, until.left, _NODES_AFTER)
        if found is not None:
            chosen.offer(found.fractions)
            chosen.bound = max(chosen.bound, found.bound)


def _improve(
    chosen: Chosen, goal: list[float], until: Until, worth: Floats, told: tuple[int, int]
) -> None:
    """Rounds in which each release chooses anew; `told` is how many steps are done of how many."""
    done, total = told
    idle = 0
    for turn in range(_ROUNDS):
        step(Stage.PLANNING, done + turn, total)
        if chosen.objective - chosen.bound <= _WORTH or until.over() or idle == len(_SHY):
            return
        before, shy = chosen.objective, _SHY[turn % len(_SHY)] * worth
        chosen.offer(improved(chosen.problem, chosen.fractions, goal, until, shy))
        gained = before - chosen.objective
        idle = 0 if gained >= max(_WORTH, 0.01 * (before - chosen.bound)) else idle + 1


def _one_by_one(chosen: Chosen, until: Until, *, exact: bool = False) -> None:
    """Release after release, each taking its own best; none thinks of the next."""
    problem = chosen.problem
    alone = [np.zeros(block.model.n) for block in problem.blocks]
    for at in range(len(problem.blocks)):
        step(Stage.PLANNING, at, 2 * len(problem.blocks) + _STEPS_OF_LINEAR + _ROUNDS)
        if until.over():
            break
        alone[at] = best_of_left(problem, alone, at, until, exact=exact)
        chosen.alone = alone
    chosen.offer(alone)


def _from_earlier(chosen: Chosen, dual: Dual, begin: Prices, until: Until) -> None:
    """A change of a plan: its prices and casks, and anew only what they say would move."""
    problem = chosen.problem
    given = recalled(problem, begin.given)
    chosen.alone = _mended(problem, recalled(problem, begin.alone), until)
    chosen.offer(chosen.alone)
    if keeps(problem, given):
        chosen.offer(given)
    prices = dual.in_range(recalled_prices(dual, begin))
    chosen.proves(dual, prices)
    flexible = wanting(problem, given, dual.reduced(prices), _MOVED)
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
    _stay(chosen, given)


def _stay(chosen: Chosen, before: list[Floats]) -> None:
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
        if worse <= _WORTH and keeps(problem, tried):
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
    return found


def remembered(chosen: Chosen, dual: Dual) -> Prices:
    """What a later plan begins from."""
    prices = chosen.prices if len(chosen.prices) else np.zeros(dual.width)
    rows = {
        block.release.name: dict(zip(rows.names, prices[part].tolist(), strict=True))
        for block, rows, part in zip(chosen.problem.blocks, dual.rows, dual.parts, strict=True)
    }
    house = dict(zip((row.name for row in dual.house), prices[dual.n_rows :].tolist(), strict=True))
    return Prices(
        rows,
        house,
        _by_name(chosen.problem, chosen.fractions),
        _by_name(chosen.problem, chosen.alone),
    )


def _by_name(problem: Problem, fractions: list[Floats]) -> dict[str, dict[str, float]]:
    names = problem.question.casks
    return {
        block.release.name: {
            str(names[block.casks[at]]): float(given[at]) for at in np.flatnonzero(given > 0.0)
        }
        for block, given in zip(problem.blocks, fractions, strict=True)
    }


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
