"""Parts of casks: from the linear answer to draws that can be poured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..array_types import Flags, Floats, Ints
from .integer import snapped
from .model import Model
from .relax import SmallProgram

_MOST_STEPS = 60
_DROPPING_STEPS = 8
"""Steps in which small draws may be left out; then they are made large enough, lest another
small draw take the place of each for ever."""
_TRIED = 6
_TINY = 1e-9


@dataclass(frozen=True, eq=False)
class Drawn:
    """Draws that keep every limit, with the prices of the rows they were found at."""

    fractions: Floats
    value: float


def dive(model: Model) -> Drawn | None:
    """Turn the linear answer into draws by fixing a few casks at a time.

    A cask that gives less than its smallest draw is either drawn that much or left out, the
    smallest first, and the rest is solved again.

    Parameters
    ----------
    model
        The problem over some hundred casks, parts of casks.

    Returns
    -------
    Drawn or None
        None when no draws were found that keep the limits.
    """
    least, most = model.least.copy(), model.most.copy()
    program = SmallProgram(*_rows(model, np.arange(model.n)), least, most)
    for step in range(_MOST_STEPS):
        found = program.solve(least, most)
        if found.x is None:
            return None
        fractions = np.clip(found.x, least, most)
        used = fractions > _TINY
        dropping = step < _DROPPING_STEPS
        if not _fix_next(model, fractions, used, least, most, dropping=dropping):
            return _accepted(model, fractions, used)
    return None


def _rows(model: Model, columns: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    """Rows of some columns, what each may be at most, what the band's cost beyond, the columns'."""
    return (
        np.vstack([model.soft, model.hard])[:, columns],
        np.concatenate([np.zeros(len(model.soft)), model.hard_limit]),
        model.soft_weight,
        model.cost[columns] + model.cask_cost,
    )


def _fix_next(
    model: Model,
    fractions: Floats,
    used: Flags,
    least: Floats,
    most: Floats,
    *,
    dropping: bool,
) -> bool:
    """Fix what stands in the way of pouring; False when nothing does."""
    over = _too_many(model, used)
    if over > 0:
        _drop_smallest(model, fractions, used, most, over)
        return True
    small = used & (fractions < model.low - _TINY)
    if small.any():
        ratio = np.where(small, fractions / model.low, np.inf)
        at = int(ratio.argmin())
        if dropping and ratio[at] < 0.5 and least[at] <= 0.0:
            most[at] = 0.0
        else:
            least[small & (ratio >= 0.5)] = model.low[small & (ratio >= 0.5)]
            least[at] = model.low[at]
        return True
    if _fix_remainder(model, fractions, used, least, most):
        return True
    return _use_more(model, fractions, used, least, most)


def _too_many(model: Model, used: Flags) -> int:
    """By how many casks the plain counts are overstepped."""
    plain = [
        int(np.count_nonzero(used & (row > 0)) - limit)
        for row, limit in zip(model.count, model.count_limit, strict=True)
        if np.all((row == 0.0) | (row == 1.0))
    ]
    return max(plain, default=0)


def _drop_smallest(model: Model, fractions: Floats, used: Flags, most: Floats, over: int) -> None:
    """Leave out some of the smallest draws of the counts that are overstepped."""
    for row, limit in zip(model.count, model.count_limit, strict=True):
        counted = used & (row == 1.0) & ~model.forced
        excess = np.count_nonzero(used & (row > 0)) - limit
        if excess > 0 and np.all((row == 0.0) | (row == 1.0)):
            candidates = np.flatnonzero(counted)
            order = candidates[np.argsort(fractions[candidates] * model.lpa[candidates])]
            most[order[: max(1, int(np.ceil(excess / 3)))]] = 0.0


def _fix_remainder(
    model: Model, fractions: Floats, used: Flags, least: Floats, most: Floats
) -> bool:
    """A cask that would be left with too little is emptied or drawn less."""
    between = used & model.can_empty & (fractions > model.high + _TINY) & (fractions < 1 - _TINY)
    if not between.any():
        return False
    nearer_full = fractions > 0.5 * (1.0 + model.high)
    least[between & nearer_full] = 1.0
    lower = between & ~nearer_full
    most[lower] = model.high[lower]
    return True


def _use_more(model: Model, fractions: Floats, used: Flags, least: Floats, most: Floats) -> bool:
    """Take in casks at their smallest draw while fewer are used than asked for."""
    for row, limit in zip(model.count, model.count_limit, strict=True):
        lacking = -limit - np.count_nonzero(used)
        if np.all(row == -1.0) and lacking > 0:
            free = np.flatnonzero(~used & (most >= model.low))
            order = free[np.argsort(model.cost[free] + model.low[free], kind="stable")]
            if not len(order):
                return False
            chosen = order[: int(lacking)]
            least[chosen] = model.low[chosen]
            return True
    return False


def _accepted(model: Model, fractions: Floats, used: Flags) -> Drawn | None:
    drawn = snapped(model, fractions, used)
    return Drawn(drawn, model.objective(drawn)) if keeps_limits(model, drawn) else None


def keeps_limits(model: Model, fractions: Floats, tolerance: float = 1e-6) -> bool:
    """Whether fractions keep every hard row, every count and every smallest draw."""
    used = fractions > 0.0
    hard = np.all(model.hard @ fractions <= model.hard_limit + tolerance)
    count = np.all(model.count @ used <= model.count_limit + tolerance)
    enough = np.all(fractions[used] >= model.low[used] - tolerance)
    within = (fractions <= model.high + tolerance) | (model.can_empty & (fractions >= 1.0))
    forced = np.all(used[model.forced])
    return bool(hard and count and enough and np.all(within) and forced)


def exchange(model: Model, found: Drawn, good_enough: float, tries: int) -> Drawn:
    """Improve draws by letting priced casks in, for one that is in or beside it.

    The draws of the casks in use are solved anew; the prices of that solution say which
    casks outside would help, and the best few are tried in place of each that is in. It ends
    after so many `tries`.
    """
    best = found
    improved, so_far = True, 0
    while improved and best.value > good_enough:
        improved = False
        for tried in _exchanges(model, best):
            so_far += 1
            if so_far > tries:
                return best
            if tried.value < best.value - 1e-6:
                best, improved = tried, True
                break
    return best


def _exchanges(model: Model, best: Drawn) -> Any:
    inside = np.flatnonzero(best.fractions > 0.0)
    solved = _support(model, best.fractions, inside)
    if solved is None:
        return
    again, prices = solved
    yield again
    outside = np.flatnonzero(best.fractions == 0.0)
    joining = outside[np.argsort(prices[outside], kind="stable")[:_TRIED]]
    smallest_first = inside[np.argsort(best.fractions[inside] * model.lpa[inside])]
    for leaving in [-1, *smallest_first[~model.forced[smallest_first]]]:
        for column in joining[prices[joining] < -1e-9]:
            chosen = np.append(inside[inside != leaving], column)
            tried = _support(model, best.fractions, chosen)
            if tried is not None:
                yield tried[0]


def _support(model: Model, before: Floats, inside: Ints) -> tuple[Drawn, Floats] | None:
    """Solve the draws of some casks, each at its smallest draw at least."""
    used = np.zeros(model.n, dtype=np.bool_)
    used[inside] = True
    if not np.all(model.count @ used <= model.count_limit + 1e-9):
        return None
    emptied = model.can_empty[inside] & (before[inside] >= 1.0)
    least = np.where(emptied, 1.0, model.low[inside])
    most = np.where(emptied, 1.0, model.high[inside])
    found = SmallProgram(*_rows(model, inside), least, most).solve(least, most)
    if found.x is None:
        return None
    fractions = np.zeros(model.n)
    fractions[inside] = np.clip(found.x, least, most)
    drawn = _accepted(model, fractions, used)
    if drawn is None:
        return None
    rows = np.vstack([model.soft, model.hard])
    prices = model.cost + model.cask_cost - rows.T @ found.marginals
    return drawn, prices
