"""Whole casks by swapping: one out, one in, wherever that helps most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Floats, Ints
from .model import Model

_POOL = 1500
_BREACH_POINTS = 1e4
_HARD_BREACH_POINTS = 1e8
"""What overstepping a limit by all of it costs; the second when the first was worth paying."""
_KEPT = 1e-9
_STALE = 60
_SEED = 20261


@dataclass(frozen=True, eq=False)
class Swapped:
    """Whole casks found by swapping; `kept` says whether every limit holds."""

    fractions: Floats
    kept: bool


@dataclass(frozen=True, eq=False)
class _Terms:
    """All rows of a model over casks that are in or out, shape (casks, rows)."""

    matrix: Floats
    limit: Floats
    weight: Floats
    cost: Floats
    n_soft: int

    def value(self, total: Floats, cost: Floats | float) -> Floats:
        """Objective with broken limits counted in, for row sums of shape (..., rows)."""
        over = np.maximum(total - self.limit, 0.0)
        worth: Floats = over @ self.weight + cost
        return worth

    def only(self, columns: Ints) -> _Terms:
        return _Terms(
            self.matrix[columns], self.limit, self.weight, self.cost[columns], self.n_soft
        )


def _terms(model: Model, breach: float = _BREACH_POINTS) -> _Terms:
    n_soft, n_hard, n_count = len(model.soft), len(model.hard), len(model.count)
    scale = np.ones(n_count)
    if n_count:
        scale = np.maximum(np.abs(model.count).max(axis=1) * 10.0, 1e-12)
    return _Terms(
        matrix=np.vstack([model.soft, model.hard, model.count / scale[:, None]]).T.copy(),
        limit=np.concatenate([np.zeros(n_soft), model.hard_limit, model.count_limit / scale]),
        weight=np.concatenate([model.soft_weight, np.full(n_hard + n_count, breach)]),
        cost=model.cost + model.cask_cost,
        n_soft=n_soft,
    )


def swap_search(
    model: Model,
    start: Floats,
    reduced_cost: Floats,
    good_enough: float,
    kicks: int,
) -> Swapped:
    """Improve a set of whole casks by taking casks in, out, and one for another.

    Parameters
    ----------
    model
        The problem, whole casks.
    start
        Fractions to begin with; the largest are rounded up until the quantity is there.
    reduced_cost
        Says which casks are worth trying first: the cheapest make the pool for most swaps; all
        casks are tried once nothing in the pool helps.
    good_enough
        Objective at which to stop.
    kicks
        Most restarts.

    Notes
    -----
    Local search with restarts from a kicked best answer: a few casks are replaced at random
    and the swaps start again. The generator has a fixed seed.
    """
    terms = _terms(model)
    first = _rounded(model, start)
    pool = _pool(model, reduced_cost, first)
    search = _Search(model, terms, pool)
    best = search.descend(first)
    rng = np.random.default_rng(_SEED)
    stale = 0
    for _ in range(kicks):
        if best[1] <= good_enough or stale >= _STALE:
            break
        tried = search.descend(_kicked(model, best[0], pool, rng))
        stale = 0 if tried[1] < best[1] - _KEPT else stale + 1
        best = min(best, tried, key=lambda found: found[1])
    best = search.polish(best)
    if not _kept(terms, best[0]):
        strict = _Search(model, _terms(model, _HARD_BREACH_POINTS), pool)
        best = strict.polish(strict.descend(best[0]))
    return Swapped(best[0].astype(np.float64), _kept(terms, best[0]))


def _kept(terms: _Terms, chosen: Floats) -> bool:
    total = terms.matrix[chosen > 0].sum(axis=0)
    over = (total - terms.limit)[terms.n_soft :]
    return bool(np.all(over <= 1e-9))


def _rounded(model: Model, start: Floats) -> Floats:
    """Casks with the largest fractions, until their fractions' sum is used up."""
    chosen = model.forced.astype(np.float64)
    wanted = int(np.ceil(start.sum() - 1e-6))
    for column in np.argsort(-start, kind="stable")[: max(wanted, 1)]:
        chosen[column] = 1.0
    return chosen


def _pool(model: Model, reduced_cost: Floats, first: Floats) -> Ints:
    cheapest = np.argsort(reduced_cost, kind="stable")[:_POOL]
    return np.union1d(cheapest, np.flatnonzero(first > 0)).astype(np.intp)


def _kicked(model: Model, chosen: Floats, pool: Ints, rng: np.random.Generator) -> Floats:
    kicked = chosen.copy()
    free = np.flatnonzero((chosen > 0) & ~model.forced)
    if not len(free):
        return kicked
    size = min(len(free), int(rng.integers(2, 5)))
    kicked[rng.choice(free, size, replace=False)] = 0.0
    kicked[rng.choice(pool, size)] = 1.0
    return kicked


class _Search:
    """Swaps within a pool of casks."""

    def __init__(self, model: Model, terms: _Terms, pool: Ints) -> None:
        self.model, self.terms, self.pool = model, terms, pool
        self.near = terms.only(pool)

    def descend(self, chosen: Floats) -> tuple[Floats, float]:
        """Swap within the pool until no swap helps."""
        return self._sweeps(chosen.copy(), self.near, self.pool)

    def polish(self, found: tuple[Floats, float]) -> tuple[Floats, float]:
        """Try every cask there is against the best answer."""
        everything = np.arange(self.model.n)
        return self._sweeps(found[0].copy(), self.terms, everything)

    def _sweeps(self, chosen: Floats, terms: _Terms, pool: Ints) -> tuple[Floats, float]:
        inside = np.flatnonzero(chosen > 0)
        total = self.terms.matrix[inside].sum(axis=0)
        cost = float(self.terms.cost[inside].sum())
        value = float(self.terms.value(total, cost))
        improved = True
        while improved:
            improved = False
            for out in [-1, *np.flatnonzero((chosen > 0) & ~self.model.forced)]:
                step = self._best_step(chosen, terms, pool, total, cost, int(out))
                if step[1] < value - _KEPT:
                    total, cost = self._apply(chosen, total, cost, int(out), step[0])
                    value = step[1]
                    improved = True
        return chosen, value

    def _best_step(
        self,
        chosen: Floats,
        terms: _Terms,
        pool: Ints,
        total: Floats,
        cost: float,
        out: int,
    ) -> tuple[int, float]:
        """The best cask to take in for `out` (-1: for nothing), or -1 to take in none."""
        base, base_cost = total, cost
        if out >= 0:
            base = total - self.terms.matrix[out]
            base_cost = cost - float(self.terms.cost[out])
        values = terms.value(base + terms.matrix, base_cost + terms.cost)
        values[chosen[pool] > 0] = np.inf
        at = int(values.argmin())
        alone = float(self.terms.value(base, base_cost)) if out >= 0 else np.inf
        if alone <= values[at]:
            return -1, alone
        return int(pool[at]), float(values[at])

    def _apply(
        self, chosen: Floats, total: Floats, cost: float, out: int, into: int
    ) -> tuple[Floats, float]:
        if out >= 0:
            chosen[out] = 0.0
            total = total - self.terms.matrix[out]
            cost -= float(self.terms.cost[out])
        if into >= 0:
            chosen[into] = 1.0
            total = total + self.terms.matrix[into]
            cost += float(self.terms.cost[into])
        return total, cost
