"""A block with what other releases leave: casks that are spent in part or wholly."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..array_types import Floats, Ints
from ..vatting.model import Model
from .blocks import Block, HouseRow, Problem

_HAIR = 1e-9


def what_is_left(problem: Problem, fractions: list[Floats], without: int) -> Floats:
    """What is left of each cask by the other blocks, and can still be drawn, as fractions.

    A cask that must be in another release, and of which that has nothing yet, is left to it.
    """
    left = np.ones(problem.n_casks)
    for at, (block, given) in enumerate(zip(problem.blocks, fractions, strict=True)):
        model = block.model
        if at == without:
            continue
        left[block.casks] -= given
        stays = model.can_empty & (given > 0.0) & (given < 1.0)
        left[block.casks[stays]] -= (1.0 - model.high)[stays]
    return np.maximum(left - _kept_for_others(problem, fractions, left, without), 0.0)


def _kept_for_others(
    problem: Problem, fractions: list[Floats], left: Floats, without: int
) -> Floats:
    """The least that other blocks must have of each cask and have not; nothing where both cannot.

    Where two must have one cask and it is not enough for both, the first that chooses gets it.
    """
    kept = np.zeros(problem.n_casks)
    for at, (block, given) in enumerate(zip(problem.blocks, fractions, strict=True)):
        if at != without:
            must = block.model.forced & (given <= 0.0)
            kept[block.casks[must]] += block.model.low[must]
    own = problem.blocks[without].model
    casks = problem.blocks[without].casks
    stays = own.can_empty & (kept[casks] > 0.0)
    kept[casks[stays]] += (1.0 - own.high)[stays]
    both = own.forced & (left[casks] - kept[casks] < own.low - _HAIR)
    kept[casks[both]] = 0.0
    return kept


def restricted(block: Block, left: Floats) -> tuple[Block, Ints]:
    """The block over what is left, and which of its columns are still there.

    A cask that others drew on gives at most what they left of it; whole casks and casks that
    would be emptied must be untouched. A release that must have a cask which is gone can be made
    of nothing.
    """
    model = block.model
    share = left[block.casks]
    touched = share < 1.0 - _HAIR
    high = np.where(touched, np.minimum(model.high, share), model.high)
    keep = high >= model.low - _HAIR if not model.whole else ~touched
    keep &= high > _HAIR
    keep &= not np.any(model.forced & ~keep)
    columns: Ints = np.flatnonzero(keep).astype(np.intp)
    few: Model = replace(
        model, high=np.maximum(high, model.low), can_empty=model.can_empty & ~touched
    ).only(columns)
    return replace(block, model=few), columns


def house_left(problem: Problem, fractions: list[Floats], without: int) -> list[HouseRow]:
    """The house's rows for one block, less what the others take."""
    found = []
    for row in problem.house:
        own = row.litres[without]
        if own is None or not np.isfinite(row.limit):
            continue
        others = [
            part @ given
            for at, (part, given) in enumerate(zip(row.litres, fractions, strict=True))
            if part is not None and at != without
        ]
        found.append(HouseRow(row.name, row.year, (own,), row.limit - float(sum(others))))
    return found
