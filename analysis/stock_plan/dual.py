"""Prices of rows, and the bound they prove: the linear problem turned round.

With a price on every row but those of the casks, each cask goes where it saves most, or nowhere.
What that comes to is below every plan, whatever the prices are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..array_types import Floats
from .blocks import Block, Problem


@dataclass(frozen=True, eq=False)
class Rows:
    """All rows of a block over the fractions of its casks, and what each may be at most.

    Attributes
    ----------
    matrix, limit
        The rows ``matrix f <= limit + short s`` with s the share that is not made.
    short
        By how much each is eased if nothing is made.
    most_price
        What a row can cost at most; infinite where nothing bounds it.
    names
        What a row is of, the same in the next plan.
    """

    matrix: Floats
    limit: Floats
    short: Floats
    most_price: Floats
    names: tuple[str, ...]


def rows_of(block: Block) -> Rows:
    """Lay out the linear relaxation of a block."""
    model = block.model
    lines = block.task.descriptors
    half = int(np.argmax(np.diff(model.soft_line) < 0)) + 1 if len(model.soft_line) > 1 else 1
    sides = ["over" if at < half else "under" for at in range(len(model.soft))]
    names = [f"{side} {lines[at]}" for side, at in zip(sides, model.soft_line, strict=True)]
    matrices, limits = [model.soft, model.hard], [np.zeros(len(model.soft)), model.hard_limit]
    shorts = [np.zeros(len(model.soft)), block.short]
    keys = [*names, *(f"{key} {at}" for at, key in enumerate(model.hard_key))]
    for at, (row, limit) in enumerate(zip(model.count, model.count_limit, strict=True)):
        short = block.short_count[at : at + 1]
        fractions = row
        if not (model.whole or np.all(row >= 0.0)):
            if not (np.all(row <= 0.0) and np.all(model.low > 0.0)):
                continue
            fractions = row / model.low  # a cask used counts at most what it gives over its least
        matrices.append(fractions[None, :])
        limits.append(np.array([limit]))
        shorts.append(short)
        keys.append(f"{model.count_key[at]} {at}")
    short = np.concatenate(shorts)
    most = np.full(len(short), np.inf)
    most[: len(model.soft)] = model.soft_weight
    eased = short > 0.0
    most[eased] = block.short_cost / short[eased]
    return Rows(np.vstack(matrices), np.concatenate(limits), short, most, tuple(keys))


@dataclass(frozen=True, eq=False)
class Rest:
    """What is settled of a block: how much of each row, and of each house row, it takes."""

    rows: Floats
    house: Floats


class Dual:
    """The dual of the linear relaxation of a problem.

    A vector of prices has those of each block's rows, block after block, then those of the house.
    """

    def __init__(self, problem: Problem, fixed: Sequence[Rest] | None = None) -> None:
        self.problem = problem
        self.rows = tuple(rows_of(block) for block in problem.blocks)
        starts = np.cumsum([0, *(len(rows.limit) for rows in self.rows)])
        self.parts = [slice(int(a), int(b)) for a, b in pairwise(starts)]
        self.house = [row for row in problem.house if np.isfinite(row.limit)]
        self.n_rows = int(starts[-1])
        self.width = self.n_rows + len(self.house)
        self.most = np.concatenate(
            [*(rows.most_price for rows in self.rows), np.full(len(self.house), np.inf)]
        )
        self.limit = np.concatenate(
            [*(rows.limit for rows in self.rows), np.array([row.limit for row in self.house])]
        )
        for part, rest in zip(self.parts, fixed or (), strict=False):
            self.limit[part] -= rest.rows
            self.limit[self.n_rows :] -= rest.house

    def reduced(self, prices: Floats) -> list[Floats]:
        """By block, what each cask costs it at some prices; below zero where it would help."""
        found = []
        for at, (block, rows, part) in enumerate(
            zip(self.problem.blocks, self.rows, self.parts, strict=True)
        ):
            cost = block.model.cost + block.model.cask_cost + prices[part] @ rows.matrix
            for row, price in zip(self.house, prices[self.n_rows :], strict=True):
                litres = row.litres[at]
                if litres is not None and price > 0.0:
                    cost = cost + price * litres
            found.append(cost)
        return found

    def bound(self, prices: Floats, reduced: list[Floats] | None = None) -> float:
        """What no plan goes below, by some prices; exact for any that are in range."""
        least = np.zeros(self.problem.n_casks)
        for block, cost in zip(self.problem.blocks, reduced or self.reduced(prices), strict=True):
            least[block.casks] = np.minimum(least[block.casks], cost)
        unmade = 0.0
        for block, rows, part in zip(self.problem.blocks, self.rows, self.parts, strict=True):
            unmade += min(0.0, block.short_cost - float(prices[part] @ rows.short))
        return float(least.sum() - prices @ self.limit + unmade)

    def in_range(self, prices: Floats) -> Floats:
        """Prices put where they prove something."""
        return np.clip(prices, 0.0, self.most)
