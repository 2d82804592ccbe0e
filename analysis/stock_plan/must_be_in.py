"""Casks that must be in a release: whether they are, who has them, and what keeps them out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ..array_types import Floats
from ..bars import Bar
from ..vatting.eligible import barred_by, eligible_casks
from ..vatting.limits import Limits
from ..vatting.stock import Stock
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
    """Give the casks that must be in a release and are in another, or may not go in at all."""
    block, names = problem.blocks[at], problem.question.casks
    in_plan = tuple(
        HadElsewhere(str(names[cask]), other.release.name)
        for cask in block.casks[block.model.forced]
        for other, given in zip(problem.blocks, fractions, strict=True)
        if np.any(given[other.casks == cask] > 0.0)
    )
    return (*not_for(block), *in_plan)


def not_for(block: Block) -> tuple[HadElsewhere, ...]:
    """Give the casks that must be in a release and, whatever else is planned, may not go in."""
    task = block.task
    return tuple(kept_out(task.stock, task.descriptors, block.release.limits))


def kept_out(stock: Stock, descriptors: tuple[str, ...], limits: Limits) -> Iterator[HadElsewhere]:
    """Give the casks that must be in and are reserved for what is not planned, or unfit.

    One that is not there, or is to be left out too, is a slip in what was asked: not given here.
    """
    reasons = eligible_casks(stock, descriptors, limits).reasons
    for name in dict.fromkeys(limits.must_include):
        if name not in stock.position or name in limits.must_exclude:
            continue
        row = stock.position[name]
        had = [
            HadElsewhere(name, ", ".join(barred.facts.reserved_for) or None, reserved=True)
            for barred in barred_by(stock, limits, row)
            if barred.bar in {Bar.RESERVED, Bar.PARTLY_RESERVED}
        ]
        if had:
            yield had[0]
        elif reasons[row]:
            yield HadElsewhere(name, None, unfit=reasons[row])
