"""The search for a plan: always with a best one at hand, and a bound beside it."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

import numpy as np

from ..array_types import Floats
from ..errors import StoppedError
from ..under_way import Stage, go_on, step
from .blocks import Problem
from .changed import from_earlier, stay
from .chosen import Chosen
from .dual import Dual
from .program import solve_program
from .result import WORTH, Ended, Prices, is_wide
from .search import (
    best_of_left,
    few_take_little,
    improved,
    keeps,
    poured,
    solve_linear,
    worth_of,
)
from .until import Until

WHOLE_PROGRAM_CASKS, WHOLE_PROGRAM_RELEASES = 200, 5
"""Up to so many the full integer program runs, every draw a decision of its own."""
_NODE_PAIRS, _FEWEST_NODES, _MOST_NODES = 2e6, 3000, 7000
"""Of the full integer program: nodes by the ways a cask may go, some minutes of a core at most."""
_OF_A_CHANGE = 3
"""Of a change a third part of the nodes."""
_TURNS, _NODES_IN_TURN = 3, 3000
"""Rounds in which each release of a small house chooses anew, and the nodes of each tree."""
_PROGRAM_PAIRS, _NODES_AFTER = 400, 5
"""Where few casks make each release, only the whole program finds what prices leave over."""
_ALONE_SHARE = 0.25
_LINEAR_SHARE = 0.55
_ROUNDS = 8
_SHY = (0.03, 1.0, 0.1, 0.3)
"""Turn by turn, what a cask's worth to the others counts beside the points of the release that
chooses anew: each finds what the others do not."""
_STEPS_OF_LINEAR = 2


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
            _changed(chosen, dual, begin, until)
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


def most_nodes(problem: Problem) -> int:
    """Nodes at which a proof is given up: fewer where each takes longer."""
    nodes = np.clip(_NODE_PAIRS / max(problem.pairs, 1), _FEWEST_NODES, _MOST_NODES)
    return int(nodes)


def _in_full(chosen: Chosen, dual: Dual, until: Until) -> None:
    problem = chosen.problem
    _one_by_one(chosen, until, exact=True)
    linear = solve_linear(problem, until)
    chosen.proves(dual, linear.prices)
    _prove(chosen, until, most_nodes(problem))
    if not chosen.proven:
        _in_turn(chosen, until)


def _in_turn(chosen: Chosen, until: Until) -> None:
    """Where the tree was given up: one release after another, each by a tree of its own.

    A tree over all releases tries few ways of each; one over a single release tries them. Begun
    from nothing in both orders, then each anew of what the others leave while that helps.
    """
    problem = chosen.problem
    blocks = range(len(problem.blocks))
    for order in (blocks, blocks[::-1]):
        found = [np.zeros(block.model.n) for block in problem.blocks]
        for at in order:
            if until.over():
                return
            found = _anew(problem, found, at, until)
        chosen.offer(found)
    for _ in range(_TURNS):
        before = chosen.objective
        for at in blocks:
            if until.over():
                return
            chosen.offer(_anew(problem, chosen.fractions, at, until))
        if before - chosen.objective <= WORTH:
            return


def _anew(problem: Problem, given: list[Floats], at: int, until: Until) -> list[Floats]:
    """The same draws with those of one release chosen anew."""
    go_on()
    found = [*given]
    found[at] = best_of_left(problem, found, at, until, exact=True, nodes=_NODES_IN_TURN)
    return found


def _changed(chosen: Chosen, dual: Dual, begin: Prices, until: Until) -> None:
    """From the last plan; a small house's is proven like any other of it, in fewer nodes."""
    before = from_earlier(chosen, dual, begin, until)
    if is_small(chosen.problem) and not chosen.proven:
        _prove(chosen, until, most_nodes(chosen.problem) // _OF_A_CHANGE)
    stay(chosen, before)


def _prove(chosen: Chosen, until: Until, nodes: int) -> None:
    found = solve_program(chosen.problem, until.left, nodes, chosen.objective)
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
    if is_wide(chosen.objective, chosen.bound) and not until.over() and few_take_little(problem):
        other = solve_linear(problem, until, linear)
        rest = [at for at in range(count) if at not in other.poured]
        chosen.offer(poured(problem, other.given, dual.reduced(other.prices), until, only=rest))
        pairs = zip(problem.blocks, other.given, goal, strict=True)
        goal = [min(block.value(given), least) for block, given, least in pairs]
    _improve(chosen, goal, until, worth_of(problem, reduced), (2 * count + _STEPS_OF_LINEAR, total))
    if problem.pairs <= _PROGRAM_PAIRS and chosen.objective - chosen.bound > WORTH:
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
        if chosen.objective - chosen.bound <= WORTH or until.over() or idle == len(_SHY):
            return
        before, shy = chosen.objective, _SHY[turn % len(_SHY)] * worth
        chosen.offer(improved(chosen.problem, chosen.fractions, goal, until, shy))
        gained = before - chosen.objective
        idle = 0 if gained >= max(WORTH, 0.01 * (before - chosen.bound)) else idle + 1


def _one_by_one(chosen: Chosen, until: Until, *, exact: bool = False) -> None:
    """Release after release, each taking its own best; none thinks of the next."""
    problem = chosen.problem
    alone = [np.zeros(block.model.n) for block in problem.blocks]
    for at in range(len(problem.blocks)):
        step(Stage.PLANNING, at, 2 * len(problem.blocks) + _STEPS_OF_LINEAR + _ROUNDS)
        if until.over():
            break
        alone[at] = best_of_left(problem, alone, at, until, exact=exact)
        if not keeps(problem, alone):
            alone[at] = np.zeros_like(alone[at])
        chosen.alone = alone
    chosen.offer(alone)


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
