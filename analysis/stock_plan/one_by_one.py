"""Release after release, each taking its own best of what the earlier ones left."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..array_types import Floats, Ints
from .blocks import Block, HouseRow, Problem
from .left import house_left, restricted, what_is_left
from .program import solve_program


def nothing_given(problem: Problem) -> list[Floats]:
    """Fractions of a plan that draws nothing."""
    return [np.zeros(block.model.n) for block in problem.blocks]


def one_by_one(problem: Problem, seconds: float) -> list[Floats]:
    """Return what the releases get in the order of their days, none thinking of the next."""
    fractions = nothing_given(problem)
    for at, block in enumerate(problem.blocks):
        few, columns = restricted(block, what_is_left(problem, fractions, at))
        rows = [_of_columns(row, columns) for row in house_left(problem, fractions, at)]
        found = solve_program(_alone(problem, few, rows), seconds / len(problem.blocks))
        if found is not None:
            fractions[at][columns] = found.fractions[0]
    return fractions


def _of_columns(row: HouseRow, columns: Ints) -> HouseRow:
    return replace(row, litres=tuple(None if own is None else own[columns] for own in row.litres))


def _alone(problem: Problem, block: Block, rows: list[HouseRow]) -> Problem:
    return replace(problem, blocks=(block,), house=tuple(rows))
