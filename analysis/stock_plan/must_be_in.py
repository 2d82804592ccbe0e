"""Casks that must be in a release: whether they are, who has them, and who must share one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..array_types import Floats
from ..bars import Bar
from ..vatting.eligible import barred_by
from .blocks import Block, Problem
from .result import HadElsewhere


def without(block: Block, fractions: Floats) -> tuple[str, ...]:
    """Casks that must be in a release and are not; none of a release that gets no cask."""
    used = block.task.stock.names[block.casks[fractions > 0.0]]
    names = {str(name) for name in used}
    return tuple(name for name in block.release.limits.must_include if names and name not in names)


def contested(problem: Problem, blocks: Sequence[int]) -> tuple[tuple[int, ...], str] | None:
    """The first releases that must all have the same whole cask, and that cask."""
    wanted: dict[str, list[int]] = {}
    for at in blocks:
        limits = problem.blocks[at].release.limits
        for name in dict.fromkeys(limits.must_include if limits.whole else ()):
            wanted.setdefault(name, []).append(at)
    for name, by in wanted.items():
        if len(by) > 1:
            return tuple(by), name
    return None


def had_elsewhere(problem: Problem, fractions: list[Floats], at: int) -> tuple[HadElsewhere, ...]:
    """Give the casks that must be in a release and are in another, or reserved outside the plan."""
    block, names = problem.blocks[at], problem.question.casks
    in_plan = tuple(
        HadElsewhere(str(names[cask]), other.release.name)
        for cask in block.casks[block.model.forced]
        for other, given in zip(problem.blocks, fractions, strict=True)
        if np.any(given[other.casks == cask] > 0.0)
    )
    return (*reserved_elsewhere(block), *in_plan)


def reserved_elsewhere(block: Block) -> tuple[HadElsewhere, ...]:
    """Give the casks that must be in a release and are reserved for one that is not planned."""
    stock, limits = block.task.stock, block.release.limits
    return tuple(
        HadElsewhere(name, ", ".join(barred.facts.reserved_for) or None, reserved=True)
        for name in dict.fromkeys(limits.must_include)
        for barred in barred_by(stock, limits, stock.position[name])
        if barred.bar in {Bar.RESERVED, Bar.PARTLY_RESERVED}
    )
