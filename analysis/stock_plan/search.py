"""From the linear answer over all casks to draws that can be poured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..array_types import Floats, Ints
from ..vatting.dive import dive, keeps_limits
from ..vatting.model import Model
from ..vatting.rows import needed_lpa
from ..vatting.simplex import Simplex
from ..vatting.solve import solve
from ..vatting.work import Work
from .blocks import Block, HouseRow, Problem
from .dual import Dual, Rest
from .interior import Inside, solve_inside
from .left import house_left, restricted, what_is_left
from .program import solve_program
from .until import Until

_NUDGE = 2e-5
_SHARP = 2e-5
_FLEXIBLE = 2000
_LARGE = 0.02
_CANDIDATES = 140
_SETTLED = 0.9995
_NOTHING = 2e-4
_HAIR = 1e-9
_GOOD = 0.05
_SMALL = Work(nodes=60, tries=400, goal=0.02)
"""Of a release of few casks, at the prices of the others."""
_NODES, _NODES_EXACT = 10, 200
"""Of the integer program of one release: among some of its casks, and among all."""
_SHARPENED = 2
_NEAR = 0.05
_AT_ONCE = 4000
_LITTLE = 0.01
_SEED = 20262


@dataclass(frozen=True, eq=False)
class Linear:
    """The linear answer: fractions by block, prices of the rows, and the bound they prove.

    `poured` are blocks whose draws can be poured as they are, `inside` is where the method over all
    casks ended.
    """

    given: list[Floats]
    prices: Floats
    bound: float
    poured: frozenset[int] = frozenset()
    inside: Inside | None = None


def solve_linear(problem: Problem, until: Until, before: Linear | None = None) -> Linear:
    """Solve over all casks, then settle most of them and solve the others sharply.

    Of few casks all are solved sharply at once. With an answer `before` the releases of few casks
    choose first, which is better where they take little of the stock.
    """
    dual = Dual(problem)
    at_once = problem.n_casks <= _AT_ONCE
    inside = before.inside if before and before.inside else None
    if inside is None:
        close = _SHARP if at_once else None
        inside = solve_inside(dual, until, nudge=_NUDGE, close=close)
    bound, prices = inside.bound, inside.prices
    bound = max(bound, dual.bound(np.zeros(dual.width)))
    if at_once and before is None:
        return Linear([_snapped(part) for part in inside.given], prices, bound, inside=inside)
    small = {} if before is None else few_casks_first(problem, dual.reduced(prices), until)
    given, whole = list(inside.given), settled(problem, inside.given)
    spent = np.zeros(problem.n_casks, dtype=np.bool_)
    for at, part in small.items():
        spent[problem.blocks[at].casks[part > 0.0]] = True
    for at, block in enumerate(problem.blocks):
        whole[at] = small.get(at, np.where(spent[block.casks], 0.0, whole[at]))
        given[at] = small.get(at, np.where(spent[block.casks], 0.0, given[at]))
    flexible = undecided(problem, given, whole)
    flexible = flexible[~spent[flexible]]
    sharp = sharpened(problem, whole, until, flexible, frozenset(small))
    found = sharp.given
    for _ in range(_SHARPENED):
        if until.over() or _value(problem, found) - bound <= _NEAR * max(bound, 1.0):
            break
        flexible = wanting(problem, found, dual.reduced(prices))
        flexible = flexible[~spent[flexible]]
        again = sharpened(problem, found, until, flexible, frozenset(small)).given
        if _value(problem, again) >= _value(problem, found):
            break
        found = again
    return Linear(found, prices, bound, frozenset(small), inside)


def few_take_little(problem: Problem) -> bool:
    """Whether there are releases of few casks, and they take next to nothing of the stock."""
    held = np.zeros(problem.n_casks)
    taken = 0.0
    for block in problem.blocks:
        held[block.casks] = np.maximum(held[block.casks], block.model.lpa)
        taken += needed_lpa(block.task, block.casks) if is_of_few(block) else 0.0
    return 0.0 < taken <= _LITTLE * float(held.sum())


def is_of_few(block: Block) -> bool:
    """Whether each cask counts for much in a release."""
    if not len(block.casks):
        return False
    return float(np.median(block.model.lpa)) >= _LARGE * needed_lpa(block.task, block.casks)


def _snapped(part: Floats) -> Floats:
    """What is all but whole is whole, what is next to nothing is nothing."""
    return np.where(part > _SETTLED, 1.0, np.where(part < _NOTHING, 0.0, part))


def _value(problem: Problem, given: list[Floats]) -> float:
    """Points of a linear answer, without the trifles of quantity that its draws make up."""
    pairs = zip(problem.blocks, given, strict=True)
    return sum(block.model.objective(part) for block, part in pairs)


def few_casks_first(problem: Problem, reduced: list[Floats], until: Until) -> dict[int, Floats]:
    """Draws of the releases of few casks, by block, chosen among all casks at their prices.

    In a release of a handful of casks each counts for much, so that no linear answer comes near;
    in one of hundreds another takes the place of any. So the small ones choose first, and pay for a
    cask what it saves the others.
    """
    worth = worth_of(problem, reduced)
    left, found = np.ones(problem.n_casks), dict[int, Floats]()
    nothing = [np.zeros(block.model.n) for block in problem.blocks]
    for at, block in enumerate(problem.blocks):
        if not is_of_few(block):
            continue
        few, columns = restricted(block, np.minimum(left, what_is_left(problem, nothing, at)))
        if not len(columns):
            continue
        costs = few.model.cost + worth[block.casks[columns]]
        solved = solve(replace(few.model, cost=costs), until.left, work=_SMALL)
        if solved.fractions is None:
            continue
        found[at] = np.zeros(block.model.n)
        found[at][columns] = solved.fractions
        left[block.casks] = np.where(found[at] > 0.0, 0.0, left[block.casks])
    return found


def worth_of(problem: Problem, reduced: list[Floats]) -> Floats:
    """What each cask saves where it saves most, points, by what it costs each block."""
    worth = np.zeros(problem.n_casks)
    for block, cost in zip(problem.blocks, reduced, strict=True):
        worth[block.casks] = np.maximum(worth[block.casks], -cost)
    return worth


def settled(problem: Problem, given: list[Floats]) -> list[Floats]:
    """Give each cask to one release or to none, by chance in proportion to its shares."""
    rng = np.random.default_rng(_SEED)
    mark = rng.random(problem.n_casks)
    before, found = np.zeros(problem.n_casks), []
    for block, share in zip(problem.blocks, given, strict=True):
        start = before[block.casks]
        before[block.casks] += share
        own = (mark[block.casks] >= start) & (mark[block.casks] < start + share)
        found.append(own.astype(np.float64))
    return found


def undecided(problem: Problem, given: list[Floats], settled: list[Floats]) -> Ints:
    """Casks that are to be decided anew: by how much settling them by chance puts a release out.

    A cask that would be a large part of a release is never settled by chance.
    """
    weight = np.zeros(problem.n_casks)
    for block, share, whole in zip(problem.blocks, given, settled, strict=True):
        part = block.model.lpa / needed_lpa(block.task, block.casks)
        weight[block.casks] += part**2 * share * np.maximum(1.0 - share, 0.0)
        large = (part > _LARGE) & (whole > 0.0) & (share < _SETTLED)
        weight[block.casks[large]] = np.inf
    order = np.argsort(-weight, kind="stable")[:_FLEXIBLE]
    return order[weight[order] > 0.0].astype(np.intp)


def sharpened(
    problem: Problem,
    settled: list[Floats],
    until: Until,
    flexible: Ints,
    frozen: frozenset[int] = frozenset(),
    close: float | None = _SHARP,
) -> Linear:
    """Solve anew over the casks that are undecided, the others as they are settled.

    The bound is that of the casks that were free to move, and of no use for the others. What is
    settled of the `frozen` blocks stays, their casks are not among the flexible ones.
    """
    free = np.zeros(problem.n_casks, dtype=np.bool_)
    free[flexible] = True
    moving = [at for at in range(len(problem.blocks)) if at not in frozen]
    columns = [np.flatnonzero(free[block.casks]).astype(np.intp) for block in problem.blocks]
    whole = [
        np.where(free[block.casks] & (at not in frozen), 0.0, part)
        for at, (block, part) in enumerate(zip(problem.blocks, settled, strict=True))
    ]
    rests = [_rest(problem, at, part) for at, part in enumerate(whole)]
    small = _of_moving(problem, moving, columns, rests)
    fixed = [rests[at] for at in moving]
    inside = solve_inside(Dual(small, fixed), until, nudge=_NUDGE, close=close)
    for place, at in enumerate(moving):
        whole[at][columns[at]] = _snapped(inside.given[place])
    return Linear(whole, _for_all_rows(inside.prices, rests, moving), inside.bound)


def _of_moving(
    problem: Problem, moving: Sequence[int], columns: Sequence[Ints], rests: Sequence[Rest]
) -> Problem:
    """Some blocks over some of their casks; what the others take of the house is taken."""
    blocks = tuple(
        replace(problem.blocks[at], model=problem.blocks[at].model.only(columns[at]))
        for at in moving
    )
    house = []
    held = [row for row in problem.house if np.isfinite(row.limit)]
    for which, row in enumerate(held):
        parts = [(row.litres[at], columns[at]) for at in moving]
        litres = tuple(None if one is None else one[some] for one, some in parts)
        gone = sum(float(rest.house[which]) for at, rest in enumerate(rests) if at not in moving)
        house.append(replace(row, litres=litres, limit=row.limit - gone))
    return replace(problem, blocks=blocks, house=tuple(house))


def _for_all_rows(prices: Floats, rests: Sequence[Rest], moving: Sequence[int]) -> Floats:
    """Prices of the rows of all blocks and of the house; 0 of blocks that were left as they are."""
    parts, start = [], 0
    for at, rest in enumerate(rests):
        n = len(rest.rows)
        parts.append(prices[start : start + n] if at in moving else np.zeros(n))
        start += n if at in moving else 0
    return np.concatenate([*parts, prices[start:]])


def wanting(
    problem: Problem, given: list[Floats], reduced: list[Floats], most: int = _FLEXIBLE
) -> Ints:
    """Casks that prices say would be better elsewhere, or nearly as well, the surest first."""
    here, best = np.zeros(problem.n_casks), np.zeros(problem.n_casks)
    second = np.full(problem.n_casks, np.inf)
    for block, part, cost in zip(problem.blocks, given, reduced, strict=True):
        casks = block.casks
        here[casks] += part * cost
        elsewhere = np.where(part > 0.5, np.inf, cost)
        best[casks] = np.minimum(best[casks], cost)
        second[casks] = np.minimum(second[casks], elsewhere)
    regret = here - best
    spent = problem.used(given) > 0.5
    tie = np.where(spent, np.minimum(second, 0.0 + np.abs(second)) - here, second)
    order = np.argsort(-regret, kind="stable")[: most // 2]
    near = np.argsort(np.abs(tie), kind="stable")[: most // 2]
    return np.union1d(order, near).astype(np.intp)


def _rest(problem: Problem, at: int, settled: Floats) -> Rest:
    from .dual import rows_of

    house = [row for row in problem.house if np.isfinite(row.limit)]
    parts = [row.litres[at] for row in house]
    taken = [0.0 if part is None else float(part @ settled) for part in parts]
    return Rest(rows_of(problem.blocks[at]).matrix @ settled, np.array(taken))


def poured(
    problem: Problem,
    given: list[Floats],
    reduced: list[Floats],
    until: Until,
    tell: Callable[[int], object] = lambda _: None,
    only: Sequence[int] | None = None,
) -> list[Floats]:
    """Make draws of a linear answer, release by release, those with fewest casks first.

    Each takes its settled casks as they are; among those that are shared or free and cheap by
    their prices a small integer program chooses. What it cannot make keeps nothing that breaks a
    limit.

    Parameters
    ----------
    problem, given
        The linear answer.
    reduced
        By block, what each cask costs it at the linear prices.
    until
        The outer limit.
    tell
        Is told how many are done.
    only
        Which blocks; the others are as they should be.
    """
    nothing = [np.zeros_like(part) for part in given]
    found = [  # no linear answer knows which casks must be in
        np.minimum(part, what_is_left(problem, nothing, at)[block.casks])
        for at, (block, part) in enumerate(zip(problem.blocks, given, strict=True))
    ]
    which = range(len(problem.blocks)) if only is None else only
    order = sorted(which, key=lambda at: problem.blocks[at].model.n)
    for done, at in enumerate(order):
        tell(done)
        found[at] = pour_one(problem, found, at, reduced[at], until)
    return found


def pour_one(
    problem: Problem,
    found: list[Floats],
    at: int,
    reduced: Floats,
    until: Until,
) -> Floats:
    """The draws of one release, the others as they stand."""
    block, wanted = problem.blocks[at], found[at]
    few, columns = restricted(block, what_is_left(problem, found, at))
    if not len(columns):
        return np.zeros_like(wanted)
    rows = house_left(problem, found, at)
    return draws_near(problem, few, columns, wanted, reduced, rows, until)


def draws_near(
    problem: Problem,
    few: Block,
    columns: Ints,
    wanted: Floats,
    reduced: Floats,
    house: list[HouseRow],
    until: Until,
) -> Floats:
    """Draws of a block near to a linear answer: settled casks stay, some others are chosen among.

    The settled ones enter the integer program as one column that must be in.
    """
    want, cost = wanted[columns], reduced[columns]
    kept = want >= np.where(few.model.high < 1.0, few.model.high, 1.0) - _HAIR
    kept &= (few.model.high >= 1.0) | few.model.can_empty
    kept |= few.model.forced & few.model.whole
    shared = (want > _HAIR) & ~kept
    order = np.argsort(np.where(kept | shared, np.inf, np.abs(cost)), kind="stable")
    near = order[: max(_CANDIDATES - int(shared.sum()), _CANDIDATES // 2)]
    near = near[~(kept | shared)[near]]
    dear = np.flatnonzero(kept)  # of the settled ones those that matter least may go
    dear = dear[np.argsort(-cost[dear], kind="stable")[: _CANDIDATES // 2]]
    dear = dear[~few.model.forced[dear]]
    kept[dear] = False
    must = np.flatnonzero(few.model.forced & ~kept)
    chosen = np.unique(np.concatenate([np.flatnonzero(shared), near, dear, must])).astype(np.intp)
    lump = np.flatnonzero(kept).astype(np.intp)
    model = _with_lump(few.model, chosen, lump)
    rows = [_lumped(row, columns, chosen, lump) for row in house]
    alone = replace(
        problem,
        blocks=(replace(few, model=model),),
        house=tuple(rows),
        n_casks=problem.n_casks + 1,
    )
    part = _quick(alone)
    goal = few.value(want) + _GOOD
    if part is None or alone.value([part]) > goal:
        solved = solve_program(alone, until.left, _NODES)
        if solved is not None and (part is None or solved.objective < alone.value([part])):
            part = solved.fractions[0]
    given = np.zeros(len(wanted))
    if part is None:
        return given
    given[columns[chosen]] = part[: len(chosen)]
    if len(lump):
        given[columns[lump]] = part[-1]
    return given


def _quick(alone: Problem) -> Floats | None:
    """Draws by fixing a few casks at a time; None where that leads nowhere or breaks a limit."""
    model = alone.blocks[0].model
    if model.whole:
        return None
    drawn = dive(model)
    if drawn is None or any(row.taken([drawn.fractions]) > row.limit for row in alone.house):
        return None
    return drawn.fractions


def _with_lump(model: Model, chosen: Ints, lump: Ints) -> Model:
    """Some casks as they are, and the settled ones as one that must be in."""
    some = model.only(chosen)
    if not len(lump):
        return some
    add: dict[str, Any] = {
        name: np.append(getattr(some, name), getattr(model, name)[lump].sum())
        for name in ("litres", "lpa", "cost")
    }
    wide: dict[str, Any] = {
        name: np.hstack([getattr(some, name), getattr(model, name)[:, lump].sum(axis=1)[:, None]])
        for name in ("soft", "hard", "count")
    }
    return replace(
        some,
        rows=np.append(some.rows, model.rows.max() + 1),
        low=np.append(some.low, 1.0),
        high=np.append(some.high, 1.0),
        can_empty=np.append(some.can_empty, False),
        forced=np.append(some.forced, True),
        **add,
        **wide,
    )


def _lumped(row: HouseRow, columns: Ints, chosen: Ints, lump: Ints) -> HouseRow:
    (litres,) = row.litres
    if litres is None:
        return row
    here = litres[columns]
    part = here[chosen]
    if len(lump):
        part = np.append(part, here[lump].sum())
    return replace(row, litres=(part,))


def keeps(problem: Problem, fractions: list[Floats]) -> bool:
    """Whether draws keep everything: each release its limits but for quantity, all the house's."""
    whole = bool(np.all(problem.used(fractions) <= 1.0 + 1e-6))
    house = all(row.taken(fractions) <= row.limit * (1.0 + 1e-6) + 1e-6 for row in problem.house)
    return (
        whole
        and house
        and all(
            _block_keeps(block, given)
            for block, given in zip(problem.blocks, fractions, strict=True)
        )
    )


def _block_keeps(block: Block, given: Floats) -> bool:
    made = bool(np.any(given > 0.0))  # of what is not made nothing must be in
    model = replace(
        block.model,
        hard_limit=block.model.hard_limit + block.short * block.missing(given),
        count_limit=block.model.count_limit + block.short_count * (not made),
        forced=block.model.forced & made,
    )
    return keeps_limits(model, given, 1e-5)


def improved(
    problem: Problem,
    found: list[Floats],
    goal: Sequence[float],
    until: Until,
    shy: Floats | None = None,
) -> list[Floats]:
    """Let each release choose anew among its own casks and those that nobody has.

    Of casks that suit it as well it takes those that the others want least: what it leaves, the
    next may need.

    Parameters
    ----------
    problem, found
        Draws that keep every limit.
    goal
        By block, the value of its linear answer: a release near it is left alone.
    until
        The outer limit.
    shy
        Points that each cask costs besides, by what the others would give for it; none by default.
    """
    found = [part.copy() for part in found]
    over = [
        block.value(part) - least
        for block, part, least in zip(problem.blocks, found, goal, strict=True)
    ]
    for at in sorted(range(len(over)), key=lambda which: -over[which]):
        if over[at] < _GOOD or until.over():
            break
        again = best_of_left(problem, found, at, until, shy=shy)
        if problem.blocks[at].value(again) < problem.blocks[at].value(found[at]):
            found[at] = again
    return found


def best_of_left(
    problem: Problem,
    found: list[Floats],
    at: int,
    until: Until,
    *,
    exact: bool = False,
    shy: Floats | None = None,
    nodes: int = _NODES_EXACT,
) -> Floats:
    """The best that one release makes of what the others leave.

    `exact` solves the integer program over all its casks, in so many `nodes`; with `shy` each cask
    costs so much besides, so that of those that suit it as well it takes what others want least.
    """
    few, columns = restricted(problem.blocks[at], what_is_left(problem, found, at))
    if shy is not None:
        few = replace(few, model=replace(few.model, cost=few.model.cost + shy[few.casks]))
    house = house_left(problem, found, at)
    wanted, reduced = np.zeros(problem.blocks[at].model.n), np.zeros(problem.blocks[at].model.n)
    if not len(columns):
        return wanted
    alone = replace(
        problem,
        blocks=(few,),
        house=tuple(
            replace(row, litres=tuple(None if one is None else one[columns] for one in row.litres))
            for row in house
        ),
    )
    if exact:
        solved = solve_program(alone, until.left, nodes)
        if solved is not None:
            wanted[columns] = solved.fractions[0]
        return wanted
    part, dear = _alone(alone, until)
    wanted[columns] = np.minimum(_snapped(part), np.maximum(few.model.high, few.model.can_empty))
    reduced[columns] = dear
    return draws_near(problem, few, columns, wanted, reduced, house, until)


def _alone(alone: Problem, until: Until) -> tuple[Floats, Floats]:
    """The linear answer of one release: what each cask gives, and what it costs at the prices."""
    (block,), dual = alone.blocks, Dual(alone)
    rows, model = dual.rows[0], block.model
    house = [row.litres[0] for row in dual.house]
    matrix = np.vstack([rows.matrix, *(litres for litres in house if litres is not None)])
    short = np.concatenate([-rows.short, np.zeros(len(matrix) - len(rows.matrix))])
    program = Simplex(
        np.hstack([matrix, short[:, None]]),
        dual.limit,
        model.soft_weight,
        np.append(model.cost + model.cask_cost, block.short_cost),
        np.zeros(model.n + 1),
        np.ones(model.n + 1),
    )
    found = program.solve()
    if found is None or found.x is None:
        inside = solve_inside(dual, until, nudge=_NUDGE, close=_SHARP)
        return inside.given[0], dual.reduced(inside.prices)[0]
    return found.x[: model.n], dual.reduced(dual.in_range(-found.marginals))[0]
