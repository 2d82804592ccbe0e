"""The linear bound over all casks, found with a few hundred columns at a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..array_types import Flags, Floats, Ints
from ..errors import FitError
from .model import Model
from .simplex import Simplex, Solution

_START = 600
_ADDED = 300
_ROUNDS = 60
_CLOSE = 1e-6
_STANDS = 1e-7
_SEED = 20260


@dataclass(frozen=True, eq=False)
class Relaxed:
    """The linear problem solved over all casks.

    Attributes
    ----------
    feasible
        Whether the limits can stand together when casks may give any fraction. If not, no
        vatting exists, and the figures below mean nothing.
    bound
        No vatting has an objective below this.
    fractions
        What the casks give in the linear answer.
    reduced_cost
        By how much the objective rises, at least, for each whole cask taken in that is not in
        the answer.
    """

    feasible: bool
    bound: float
    fractions: Floats
    reduced_cost: Floats


@dataclass(frozen=True, eq=False)
class _Rows:
    """All rows of the relaxation, the band's first."""

    matrix: Floats
    limit: Floats
    n_soft: int


def solve_relaxed(model: Model, start: Ints | None = None) -> Relaxed:
    """Solve the linear relaxation over every cask of a model.

    A linear program over a pool of casks gives a price to every row; casks whose price says
    that they would help join the pool, until none would. The bound holds for all casks:
    it is the dual value of the prices, casks outside the pool counted in.

    Parameters
    ----------
    model
        The problem.
    start
        Columns to begin with; by default some hundred drawn at random, always the same.
    """
    rows = _relaxed_rows(model)
    if np.any(model.least > model.most):
        return _impossible(model)
    pool = _first_pool(model, start)
    pool, shortfall = _make_feasible(model, rows, pool)
    if shortfall > _STANDS:
        return _impossible(model)
    return _optimise(model, rows, pool)


def _relaxed_rows(model: Model) -> _Rows:
    """Rows over casks used become rows over fractions, or fall away where that is not valid."""
    blocks = [model.soft, model.hard]
    limits = [np.zeros(len(model.soft)), model.hard_limit]
    for row, limit in zip(model.count, model.count_limit, strict=True):
        if model.whole or np.all(row >= 0.0):  # a cask used counts at least what it gives
            blocks.append(row[None, :])
            limits.append(np.array([limit]))
        elif np.all(row <= 0.0) and np.all(model.low > 0.0):  # ... and at most that over low
            blocks.append((row / model.low)[None, :])
            limits.append(np.array([limit]))
    return _Rows(np.vstack(blocks), np.concatenate(limits), len(model.soft))


def _impossible(model: Model) -> Relaxed:
    return Relaxed(False, np.inf, np.zeros(model.n), np.zeros(model.n))


def _first_pool(model: Model, start: Ints | None) -> Ints:
    if start is None:
        rng = np.random.default_rng(_SEED)
        start = rng.choice(model.n, min(_START, model.n), replace=False)
    joined: Ints = np.union1d(start, np.flatnonzero(model.forced)).astype(np.intp)
    return joined


def _make_feasible(model: Model, rows: _Rows, pool: Ints) -> tuple[Ints, float]:
    """Widen the pool until the hard rows hold, or until no cask would help."""
    n_hard = len(rows.limit) - rows.n_soft
    hard = rows.matrix[rows.n_soft :]
    slack_cost = np.ones(n_hard)
    shortfall = np.inf
    for _ in range(_ROUNDS):
        found = _linprog(
            np.concatenate([np.zeros(len(pool)), slack_cost]),
            np.hstack([hard[:, pool], -np.eye(n_hard)]),
            rows.limit[rows.n_soft :],
            np.concatenate([model.least[pool], np.zeros(n_hard)]),
            np.concatenate([model.most[pool], np.full(n_hard, np.inf)]),
        )
        shortfall = float(found.fun)
        prices = -(hard.T @ found.ineqlin.marginals)
        joining = _joining(prices, pool, model.n)
        if shortfall <= _STANDS or not len(joining):
            break
        pool = np.concatenate([pool, joining])
    return pool, shortfall


def _optimise(model: Model, rows: _Rows, pool: Ints) -> Relaxed:
    cost = model.cost + model.cask_cost
    bound = -np.inf
    for _ in range(_ROUNDS):
        found = _solve_pool(model, rows, pool, cost)
        if found.x is None:  # the limits missed each other by less than the first look can see
            return _impossible(model)
        prices = cost - rows.matrix.T @ found.ineqlin.marginals
        outside = np.ones(model.n, dtype=np.bool_)
        outside[pool] = False
        lowered = float((np.minimum(prices, 0.0) * model.most)[outside].sum())
        bound = max(bound, float(found.fun) + lowered)
        joining = _joining(prices, pool, model.n)
        if float(found.fun) - bound <= _CLOSE or not len(joining):
            break
        pool = np.concatenate([pool, joining])
    fractions = np.zeros(model.n)
    fractions[pool] = np.clip(found.x[: len(pool)], 0.0, model.most[pool])
    return Relaxed(True, bound, fractions, prices)


def _solve_pool(model: Model, rows: _Rows, pool: Ints, cost: Floats) -> Any:
    return solve_columns(
        rows.matrix[:, pool],
        rows.limit,
        model.soft_weight,
        cost[pool],
        model.least[pool],
        model.most[pool],
    )


def solve_columns(
    matrix: Floats,
    limit: Floats,
    soft_weight: Floats,
    cost: Floats,
    least: Floats,
    most: Floats,
) -> Any:
    """Solve the linear program over some columns; the first rows may be overstepped at a cost."""
    n_soft = len(soft_weight)
    overstep = np.vstack([-np.eye(n_soft), np.zeros((len(limit) - n_soft, n_soft))])
    return _linprog(
        np.concatenate([cost, soft_weight]),
        np.hstack([matrix, overstep]),
        limit,
        np.concatenate([least, np.zeros(n_soft)]),
        np.concatenate([most, np.full(n_soft, np.inf)]),
    )


class SmallProgram:
    """A linear program over some hundred columns whose bounds are drawn in step by step.

    Solved by :class:`.simplex.Simplex`, which goes on from its last answer; by the general solver
    where rounding spoilt that.
    """

    def __init__(
        self,
        matrix: Floats,
        limit: Floats,
        soft_weight: Floats,
        cost: Floats,
        least: Floats,
        most: Floats,
    ) -> None:
        self._given = matrix, limit, soft_weight, cost
        self._own: Simplex | None = Simplex(matrix, limit, soft_weight, cost, least, most)

    def solve(self, least: Floats, most: Floats) -> Solution:
        """Solve it for some bounds of the columns."""
        if self._own is not None:
            self._own.bound(least, most)
            found = self._own.solve()
            if found is not None:
                return found
            self._own = None
        general = solve_columns(*self._given, least, most)
        n = len(least)
        if general.x is None:
            return Solution(None, np.zeros(len(self._given[1])), np.inf)
        return Solution(general.x[:n], general.ineqlin.marginals, float(general.fun))


def _joining(prices: Floats, pool: Ints, n: int) -> Ints:
    outside: Flags = np.ones(n, dtype=np.bool_)
    outside[pool] = False
    helping = np.flatnonzero(outside & (prices < -1e-12)).astype(np.intp)
    if len(helping) <= _ADDED:
        return helping
    best = np.argpartition(prices[helping], _ADDED)[:_ADDED]
    return helping[best]


def _linprog(cost: Floats, matrix: Floats, limit: Floats, least: Floats, most: Floats) -> Any:
    from scipy.optimize import linprog

    found = linprog(
        cost,
        A_ub=matrix,
        b_ub=limit,
        bounds=np.column_stack([least, most]),
        method="highs-ds",
    )
    if found.status not in {0, 2}:
        raise FitError(f"The linear solver gave up: {found.message}")
    return found
