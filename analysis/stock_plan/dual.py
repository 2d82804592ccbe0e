"""Prices of rows, and the bound they prove: the linear problem turned round.

With a price on every row but those of the casks, each cask goes where it saves most, or nowhere.
What that comes to is below every plan. The best prices are found on a smooth stand-in, in which a
cask is shared among releases by how much it saves in each, made sharper step by step.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter

import numpy as np
from numpy.typing import NDArray

from ..array_types import Floats, Ints
from ..under_way import go_on
from .blocks import Block, Problem

Singles = NDArray[np.float32]
_NEVER = np.float32(1e30)
_RANK = 1e-10
_HARD_SCALE = 30.0
_MEMORY = 30
_EVALUATIONS = 250


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
        if not (model.whole or np.all(row >= 0.0)):
            if not (np.all(row <= 0.0) and np.all(model.low > 0.0)):
                continue
            row = row / model.low  # a cask used counts at most what it gives over its least
        matrices.append(row[None, :])
        limits.append(np.array([limit]))
        shorts.append(short)
        keys.append(f"{model.count_key[at]} {at}")
    short = np.concatenate(shorts)
    most = np.full(len(short), np.inf)
    most[: len(model.soft)] = model.soft_weight
    eased = short > 0.0
    most[eased] = block.short_cost / short[eased]
    return Rows(np.vstack(matrices), np.concatenate(limits), short, most, tuple(keys))


class Dual:
    """The dual of the linear relaxation of a problem.

    A vector of prices has those of each block's rows, block after block, then those of the house.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.rows = tuple(rows_of(block) for block in problem.blocks)
        starts = np.cumsum([0, *(len(rows.limit) for rows in self.rows)])
        self.parts = [slice(a, b) for a, b in zip(starts[:-1], starts[1:], strict=True)]
        self.house = [row for row in problem.house if np.isfinite(row.limit)]
        self.n_rows = int(starts[-1])
        self.width = self.n_rows + len(self.house)
        self.most = np.concatenate(
            [*(rows.most_price for rows in self.rows), np.full(len(self.house), np.inf)]
        )
        self.limit = np.concatenate(
            [*(rows.limit for rows in self.rows), np.array([row.limit for row in self.house])]
        )
        self._lay_out()

    def _lay_out(self) -> None:
        """Fewer rows that span all of a block: a band's two sides are one row but for a part."""
        n = self.problem.n_casks
        self._mix: list[Singles] = []
        self._basis: list[Singles] = []
        self._cost = np.full((len(self.rows), n), _NEVER, dtype=np.float32)
        self._house = [
            [None if part is None else part.astype(np.float32) for part in row.litres]
            for row in self.house
        ]
        for at, (block, rows) in enumerate(zip(self.problem.blocks, self.rows, strict=True)):
            values, vectors = np.linalg.eigh(rows.matrix @ rows.matrix.T)
            kept = vectors[:, values > _RANK * max(values[-1], 1e-300)]
            self._mix.append(kept.astype(np.float32))
            self._basis.append((kept.T @ rows.matrix).astype(np.float32))
            cost = block.model.cost + block.model.cask_cost
            self._cost[at, block.casks] = cost.astype(np.float32)

    @property
    def scale(self) -> Floats:
        """How far prices of each row move beside one another."""
        scale = np.where(np.isfinite(self.most), 1.0, _HARD_SCALE)
        for part, rows in zip(self.parts, self.rows, strict=True):
            scale[part][rows.short > 0.0] = _HARD_SCALE
        largest = [
            max((float(np.abs(part).max(initial=0.0)) for part in row.litres if part is not None))
            for row in self.house
        ]
        scale[self.n_rows :] = 1.0 / np.maximum(np.array(largest), 1e-9)
        return scale

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

    def smooth(self, prices: Floats, softness: float) -> tuple[float, Floats, Singles]:
        """The stand-in's value and slope, and how each cask is shared, (blocks, casks)."""
        reduced = self._cost.copy()
        given = prices.astype(np.float32)
        for at, (block, part) in enumerate(zip(self.problem.blocks, self.parts, strict=True)):
            cost = (given[part] @ self._mix[at]) @ self._basis[at]
            for row, price in zip(self._house, given[self.n_rows :], strict=True):
                litres = row[at]
                if litres is not None and price > 0.0:
                    cost += price * litres
            reduced[at, block.casks] += cost
        reduced *= np.float32(-1.0 / softness)
        top = np.maximum(reduced.max(axis=0), 0.0)
        np.subtract(reduced, top, out=reduced)
        shares = np.exp(reduced, out=reduced)
        none = np.exp(-top)
        whole = shares.sum(axis=0) + none
        shares /= whole
        value = -softness * float((top + np.log(whole)).sum(dtype=np.float64))
        return value - float(prices @ self.limit), self._slope(shares), shares

    def _slope(self, shares: Singles) -> Floats:
        slope = -self.limit
        for at, (block, part) in enumerate(zip(self.problem.blocks, self.parts, strict=True)):
            taken = shares[at, block.casks]
            slope[part] += self._mix[at] @ (self._basis[at] @ taken)
            for which, row in enumerate(self._house):
                litres = row[at]
                if litres is not None:
                    slope[self.n_rows + which] += litres @ taken
        return slope


@dataclass(frozen=True, eq=False)
class Priced:
    """Prices, the bound they prove, and how each cask is shared among releases (blocks, casks)."""

    prices: Floats
    bound: float
    shares: Singles


def climb(
    dual: Dual,
    prices: Floats,
    softness: tuple[float, ...],
    deadline: float,
    evaluations: int = _EVALUATIONS,
) -> Priced:
    """Raise the bound by better prices.

    Parameters
    ----------
    dual
        The problem turned round.
    prices
        To begin with.
    softness
        Points a cask by which the choice is softened, falling.
    deadline
        On the clock of :func:`time.perf_counter`; the prices by then are kept.
    evaluations
        At most so many a step of softness.
    """
    from scipy.optimize import minimize

    scale = dual.scale
    best = Priced(prices, dual.bound(prices), np.empty((0, 0), dtype=np.float32))
    for soft in softness:
        go_on()
        tried = _Tried(dual, scale, soft, deadline)
        try:
            found = minimize(
                tried,
                prices / scale,
                jac=True,
                method="L-BFGS-B",
                bounds=[(0.0, top) for top in dual.most / scale],
                options={"maxfun": evaluations, "maxcor": _MEMORY, "ftol": 1e-9, "gtol": 1e-7},
            )
            prices = dual.in_range(found.x * scale)
        except TimeoutError:
            prices = dual.in_range(tried.last * scale)
        bound = dual.bound(prices)
        if bound > best.bound or not best.shares.size:
            best = Priced(prices, max(bound, best.bound), best.shares)
        if perf_counter() > deadline:
            break
    return Priced(best.prices, best.bound, dual.smooth(best.prices, soft)[2])


class _Tried:
    """What the climb asks at every step; it ends by an error where the time is over."""

    def __init__(self, dual: Dual, scale: Floats, soft: float, deadline: float) -> None:
        self.dual, self.scale, self.soft, self.deadline = dual, scale, soft, deadline
        self.last = np.zeros(dual.width)
        self.asked = 0

    def __call__(self, at: Floats) -> tuple[float, Floats]:
        self.last = at.copy()
        self.asked += 1
        if perf_counter() > self.deadline:
            raise TimeoutError
        value, slope, _ = self.dual.smooth(at * self.scale, self.soft)
        return -value, -slope * self.scale


def columns_near(reduced: list[Floats], most: float) -> list[Ints]:
    """Columns of each block that cost it no more than some points beyond the best of their cask."""
    return [np.flatnonzero(cost <= most).astype(np.intp) for cost in reduced]
