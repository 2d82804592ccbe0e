"""Which releases cannot stand together, whatever their notes; and the nearest that can."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..vatting.check import nothing_left
from ..vatting.eligible import eligible_casks
from ..vatting.model import Model
from ..vatting.verdict import listed
from .blocks import Block, HouseRow, Problem
from .dual import Dual
from .fewer import best_made, fewer_of
from .interior import solve_inside
from .must_be_in import contested, not_for
from .until import TimeIsOver, Until, in_turn
from .verdict import had_words

_LACKING = 1e-4
_SHARPER = 100.0
_PAIRS_LOOKED_AT = 3e6
_FEWEST, _MOST = 12, 60
"""Sets that are tried: so many at least and at most, by the ways a cask may go."""
_SHARE = 0.5
"""Of the time, for which cannot be filled; then each of these has its part of the rest."""
_CLOSE = 0.01
"""Points between answer and bound: a release not made costs a thousand."""


@dataclass(frozen=True)
class Conflict:
    """A smallest set of releases and house limits that cannot stand together.

    Attributes
    ----------
    releases, house
        Blocks and house rows, by their place in the problem.
    proven
        Whether leaving out any one was tried.
    nearest
        By block, bottles (or litres) that were tried and can be had when the others get theirs;
        blocks of which no amount was found are not there.
    spent
        The cask that must be in each of the releases, where that is why.
    barred
        What keeps every cask out of the one release, where none may go in.
    cut
        Whether the time was over before every amount was looked for.
    """

    releases: tuple[int, ...]
    house: tuple[int, ...]
    proven: bool
    nearest: Mapping[int, int]
    spent: str | None = None
    barred: str | None = None
    cut: bool = False


def find_conflicts(
    problem: Problem, until: Until, missing: Sequence[int] | None = None
) -> tuple[Conflict, ...]:
    """Find what cannot be filled: each release that cannot by itself, else a smallest set.

    Releases that must have the same whole cask come before all else. Of those that cannot by
    themselves, the ones that must have a cask which may not go in are told first. A set
    is found by leaving out one release after another; nothing where all can stand together.

    Quantity, strength, age, shares and the house's limits count here; notes do not, nor that
    casks go in whole. So what is found cannot be filled in any way.

    Parameters
    ----------
    problem
        Blocks and house rows.
    until
        The limit by the clock; of what has no time left it is told which it is, and no amount.
    missing
        The blocks that are not filled in the plan, all by default; any other can be filled.

    Raises
    ------
    TimeIsOver
        Before it was known which cannot be filled.

    Notes
    -----
    Of a large stock some are left in a set untried; that it is the smallest is then not said.
    """
    blocks = list(range(len(problem.blocks)))
    if (same := contested(problem, blocks)) is not None:
        return (Conflict(same[0][:2], (), True, {}, same[1]),)
    house = [at for at, row in enumerate(problem.house) if np.isfinite(row.limit)]
    some = blocks if missing is None else missing
    gone = {at: found for at in blocks if (found := _kept_out(problem, at)) is not None}
    alone = [at for at in some if at not in gone and _lacks(problem, [at], house, until)]
    if gone or alone:
        parts = (
            (at, until.part(share)) for at, share in zip(alone, in_turn(alone, _SHARE), strict=True)
        )
        each = (
            _conflict(problem, *_fewest(problem, [at], house, part), part) for at, part in parts
        )
        return (*gone.values(), *each)
    if len(blocks) < 2 or not _lacks(problem, blocks, house, until):
        return ()
    return (_conflict(problem, *_fewest(problem, blocks, house, until), until),)


def _fewest(
    problem: Problem, blocks: list[int], house: list[int], until: Until
) -> tuple[list[int], list[int], bool]:
    """Leave out what is not needed for a conflict, and tell whether all was tried."""
    looks = int(np.clip(_PAIRS_LOOKED_AT / max(problem.pairs, 1), _FEWEST, _MOST))
    proven = True

    def still(some: list[int], limits: list[int]) -> bool:
        nonlocal looks, proven
        looks -= 1
        try:
            if looks >= 0:
                return _lacks(problem, some, limits, until)
        except TimeIsOver:
            looks = 0
        proven = False
        return False

    for at in list(blocks):
        rest = [other for other in blocks if other != at]
        if rest and still(rest, house):
            blocks = rest
    for which in list(house):
        less = [other for other in house if other != which]
        if still(blocks, less):
            house = less
    return blocks, house, proven


def _conflict(
    problem: Problem, blocks: list[int], house: list[int], proven: bool, until: Until
) -> Conflict:
    """Give a set that cannot stand with what keeps casks out of it, or amounts that can be had."""
    if len(blocks) == 1 and (barred := _barred(problem.blocks[blocks[0]])) is not None:
        return Conflict(tuple(blocks), tuple(house), proven, {}, barred=barred)
    few = _only(problem, blocks, house)
    nearest: dict[int, int] = {}
    cut = False
    for place, at in enumerate(blocks):
        try:
            share = 1.0 - _least_missing(problem, blocks, house, at, until)
            amount = _nearest(few, place, share, until)
        except TimeIsOver:
            cut = True
            break
        if amount is not None:
            nearest[at] = amount
    return Conflict(tuple(blocks), tuple(house), proven, nearest, cut=cut)


def _kept_out(problem: Problem, at: int) -> Conflict | None:
    """A release that must have casks which may not go in; None where that is not why."""
    had = not_for(problem.blocks[at])
    if not had:
        return None
    words = listed([had_words(each) for each in had])
    return Conflict((at,), (), True, {}, barred=f"It must have {words}.")


def _barred(block: Block) -> str | None:
    """Why no cask may go into a release; None where some may."""
    task = block.task
    eligible = eligible_casks(task.stock, task.descriptors, task.limits)
    return None if len(eligible.rows) else nothing_left(task.limits, eligible).text


def _nearest(few: Problem, at: int, share: float, until: Until) -> int | None:
    """An amount of one release that can be had once the others of the set have theirs.

    Tried from `share` of what is asked downwards.
    """
    given = [np.zeros(block.model.n) for block in few.blocks]
    for other in range(len(few.blocks)):
        if other != at:
            part = best_made(few, given, other, until)
            if part is None:
                return None
            given[other] = part
    limits = few.blocks[at].release.limits
    asked = limits.final_litres if limits.bottles is None else limits.bottles
    had = fewer_of(few, given, at, int(share * asked), lambda _block, _found: True, until)
    return None if had is None else had.amount


def _lacks(problem: Problem, blocks: Sequence[int], house: Sequence[int], until: Until) -> bool:
    bare = _bare(problem, blocks, house)
    return _bound(bare, until) > _LACKING * min(block.short_cost for block in bare.blocks)


def _least_missing(
    problem: Problem, blocks: Sequence[int], house: Sequence[int], at: int, until: Until
) -> float:
    bare = _bare(problem, blocks, house, cheap=at)
    cost = bare.blocks[list(blocks).index(at)].short_cost
    return float(np.clip(_bound(bare, until) / cost, 0.0, 1.0))


def _bound(bare: Problem, until: Until) -> float:
    until.in_time()
    bound = solve_inside(Dual(bare), until, close=_CLOSE).bound
    until.in_time()
    return bound


def _bare(
    problem: Problem, blocks: Sequence[int], house: Sequence[int], cheap: int | None = None
) -> Problem:
    """Some releases without their notes; of one what is missing costs less than of the others."""
    some = [
        _without_notes(problem.blocks[at], 1.0 if cheap in {None, at} else _SHARPER)
        for at in blocks
    ]
    return replace(_only(problem, blocks, house), blocks=tuple(some))


def _only(problem: Problem, blocks: Sequence[int], house: Sequence[int]) -> Problem:
    """Some releases and some limits of the house."""
    rows = [
        HouseRow(row.name, row.year, tuple(row.litres[at] for at in blocks), row.limit)
        for row in (problem.house[which] for which in house)
    ]
    kept = [row for row in rows if any(part is not None for part in row.litres)]
    return replace(problem, blocks=tuple(problem.blocks[at] for at in blocks), house=tuple(kept))


def _without_notes(block: Block, weight: float) -> Block:
    model: Model = replace(
        block.model,
        soft=np.empty((0, block.model.n)),
        soft_line=np.empty(0, dtype=np.intp),
        soft_weight=np.empty(0),
        cost=np.zeros(block.model.n),
    )
    return replace(block, model=model, release=replace(block.release, weight=weight))
