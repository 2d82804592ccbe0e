"""Which releases cannot stand together, whatever their notes; and the nearest that can."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..vatting.model import Model
from .blocks import Block, HouseRow, Problem
from .dual import Dual
from .interior import solve_inside
from .until import no_limit

_LACKING = 1e-4
_SHARPER = 100.0
_PAIRS_LOOKED_AT = 3e6
_FEWEST, _MOST = 12, 60
"""Sets that are tried: so many at least and at most, by the ways a cask may go."""
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
        By block, the share of its quantity that can be had when the others get theirs.
    """

    releases: tuple[int, ...]
    house: tuple[int, ...]
    proven: bool
    nearest: Mapping[int, float]


def find_conflict(problem: Problem) -> Conflict | None:
    """Find the smallest set by leaving out one after another; None where all can be filled.

    Quantity, strength, age, shares and the house's limits count here; notes do not, nor that
    casks go in whole. So a set that is found cannot be filled in any way.

    Parameters
    ----------
    problem
        Blocks and house rows.

    Notes
    -----
    Of a large stock some are left in untried; that the set is the smallest is then not said.
    """
    blocks = list(range(len(problem.blocks)))
    house = [at for at, row in enumerate(problem.house) if np.isfinite(row.limit)]
    if not _lacks(problem, blocks, house):
        return None
    proven, looks = True, int(np.clip(_PAIRS_LOOKED_AT / max(problem.pairs, 1), _FEWEST, _MOST))
    for at in list(blocks):
        rest = [other for other in blocks if other != at]
        looks -= 1
        if looks < 0:
            proven = False
        elif rest and _lacks(problem, rest, house):
            blocks = rest
    for which in list(house):
        less = [other for other in house if other != which]
        looks -= 1
        if looks < 0:
            proven = False
        elif _lacks(problem, blocks, less):
            house = less
    nearest = {at: 1.0 - _least_missing(problem, blocks, house, at) for at in blocks}
    return Conflict(tuple(blocks), tuple(house), proven, nearest)


def _lacks(problem: Problem, blocks: Sequence[int], house: Sequence[int]) -> bool:
    bare = _bare(problem, blocks, house)
    return _bound(bare) > _LACKING * min(block.short_cost for block in bare.blocks)


def _least_missing(problem: Problem, blocks: Sequence[int], house: Sequence[int], at: int) -> float:
    bare = _bare(problem, blocks, house, cheap=at)
    cost = bare.blocks[list(blocks).index(at)].short_cost
    return float(np.clip(_bound(bare) / cost, 0.0, 1.0))


def _bound(bare: Problem) -> float:
    return solve_inside(Dual(bare), no_limit(), close=_CLOSE).bound


def _bare(
    problem: Problem, blocks: Sequence[int], house: Sequence[int], cheap: int | None = None
) -> Problem:
    """Some releases without their notes; of one what is missing costs less than of the others."""
    some = [
        _without_notes(problem.blocks[at], 1.0 if cheap in {None, at} else _SHARPER)
        for at in blocks
    ]
    rows = [
        HouseRow(row.name, row.year, tuple(row.litres[at] for at in blocks), row.limit)
        for row in (problem.house[which] for which in house)
    ]
    kept = [row for row in rows if any(part is not None for part in row.litres)]
    return replace(problem, blocks=tuple(some), house=tuple(kept))


def _without_notes(block: Block, weight: float) -> Block:
    model: Model = replace(
        block.model,
        soft=np.empty((0, block.model.n)),
        soft_line=np.empty(0, dtype=np.intp),
        soft_weight=np.empty(0),
        cost=np.zeros(block.model.n),
    )
    return replace(block, model=model, release=replace(block.release, weight=weight))
