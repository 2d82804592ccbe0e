"""The linear problem: rows over the fractions that casks give."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..array_types import Flags, Floats, Ints
from .eligible import ages_at_bottling, eligible_casks, is_lifted, is_whole
from .limits import NOTHING_LIFTED, Lifted, LimitKey, LimitKind
from .rows import Row, count_rows, hard_rows, needed_lpa, unlike_rows
from .task import Band, Task

_PREFERENCE = 0.001
_CASK_COST = 1e-6
_OLD_YEARS = 30.0


@dataclass(frozen=True, eq=False)
class Model:
    """Rows ``A f <= b`` over the fraction f that each cask gives of what it has to give.

    Attributes
    ----------
    rows
        Rows of the stock, one a column of the model.
    litres, lpa
        What each cask has to give.
    soft, soft_line, soft_weight
        Rows of the band: ``soft f`` is by how many points a line lies outside it, weighed.
    hard, hard_limit, hard_key
        Rows that must hold.
    count, count_limit, count_key
        Rows over the casks used (0 or 1), whatever they give.
    cost
        Small preferences: young above the statement, common and well known casks first.
    low, high, can_empty
        A cask that is used gives `low` to `high`, or all where it can be emptied.
    forced
        Casks that must be in.
    whole
        Whether a cask gives all or nothing.
    """

    rows: Ints
    litres: Floats
    lpa: Floats
    soft: Floats
    soft_line: Ints
    soft_weight: Floats
    hard: Floats
    hard_limit: Floats
    hard_key: tuple[LimitKey | None, ...]
    count: Floats
    count_limit: Floats
    count_key: tuple[LimitKey | None, ...]
    cost: Floats
    low: Floats
    high: Floats
    can_empty: Flags
    forced: Flags
    whole: bool

    @property
    def n(self) -> int:
        """Number of casks."""
        return len(self.rows)

    @property
    def most(self) -> Floats:
        """The largest fraction that each cask may give."""
        return np.where(self.can_empty, 1.0, self.high)

    @property
    def least(self) -> Floats:
        """The smallest fraction that each cask must give."""
        return np.where(self.forced, self.low, 0.0)

    def outside(self, fractions: Floats) -> Floats:
        """Points that each row of the band is overstepped by."""
        found: Floats = np.maximum(self.soft @ fractions, 0.0)
        return found

    def objective(self, fractions: Floats) -> float:
        """Weighed points outside the band, and the small preferences."""
        used = int(np.count_nonzero(fractions > 0.0))
        missed = float(self.soft_weight @ self.outside(fractions))
        return missed + float(self.cost @ fractions) + _CASK_COST * used

    @property
    def cask_cost(self) -> float:
        """What using one cask more costs."""
        return _CASK_COST

    def only(self, columns: Ints) -> Model:
        """The same problem with some of the casks."""
        return replace(
            self,
            rows=self.rows[columns],
            litres=self.litres[columns],
            lpa=self.lpa[columns],
            soft=self.soft[:, columns],
            hard=self.hard[:, columns],
            count=self.count[:, columns],
            cost=self.cost[columns],
            low=self.low[columns],
            high=self.high[columns],
            can_empty=self.can_empty[columns],
            forced=self.forced[columns],
        )


def build_model(
    task: Task,
    band: Band,
    *,
    lifted: Lifted = NOTHING_LIFTED,
    without: Collection[str] = (),
    unlike: Sequence[Collection[str]] = (),
) -> Model:
    """Build the rows for a band.

    Parameters
    ----------
    task, band
        What is asked.
    lifted
        Limits to leave aside.
    without
        Casks to leave out beside those that the limits bar.
    unlike
        Sets of casks from each of which the answer must lack at least three (half of a small
        set); casks that must be in do not count.
    """
    eligible = eligible_casks(task.stock, task.descriptors, task.limits, lifted)
    names = task.stock.names[eligible.rows].astype(str)
    rows = eligible.rows[~np.isin(names, np.array(list(without), dtype=str))]
    rows = rows[task.stock.available_litres[rows] > 0.0]  # of one reserved whole there is nothing
    low, high, can_empty = _draw_range(task, rows, lifted)
    possible = high >= low
    rows, low, high, can_empty = rows[possible], low[possible], high[possible], can_empty[possible]
    hard = _stacked(hard_rows(task, rows, lifted), len(rows))
    count = _stacked([*count_rows(task, rows, lifted), *unlike_rows(task, rows, unlike)], len(rows))
    litres = task.stock.available_litres[rows]
    lpa = litres * task.stock.abv_percent[rows] / 100.0
    bare = Model(
        rows=rows,
        litres=litres,
        lpa=lpa,
        soft=np.empty((0, len(rows))),
        soft_line=np.empty(0, dtype=np.intp),
        soft_weight=np.empty(0),
        hard=hard[0],
        hard_limit=hard[1],
        hard_key=hard[2],
        count=count[0],
        count_limit=count[1],
        count_key=count[2],
        cost=_preferences(task, rows, lpa),
        low=low,
        high=high,
        can_empty=can_empty,
        forced=_forced(task, rows, lifted),
        whole=is_whole(task.limits, lifted),
    )
    return with_band(bare, task, band)


def with_band(model: Model, task: Task, band: Band) -> Model:
    """The same casks and limits with another band.

    A line's amount less that of the band's end, times the cask's pure alcohol, adds up to how
    far the vatting is off; divided by the slope of amounts over scores it is in points.
    """
    amounts = task.amounts.mean[model.rows]
    share = model.lpa / needed_lpa(task, model.rows)
    top, bottom = task.aim + task.tolerance, np.maximum(task.aim - task.tolerance, 0.0)
    rise = task.amounts.amount(top) - task.amounts.amount(bottom)
    slope = rise / (top - bottom)
    over = np.flatnonzero(np.isfinite(band.high))
    under = np.flatnonzero(np.isfinite(band.low))
    end_over = task.amounts.amount(band.high)[over]
    end_under = task.amounts.amount(band.low)[under]
    above = ((amounts[:, over] - end_over) / slope[over]).T * share
    below = ((end_under - amounts[:, under]) / slope[under]).T * share
    lines = np.concatenate([over, under]).astype(np.intp)
    return replace(
        model,
        soft=np.vstack([above, below]),
        soft_line=lines,
        soft_weight=task.weight[lines],
    )


def _stacked(rows: Sequence[Row], width: int) -> tuple[Floats, Floats, tuple[LimitKey | None, ...]]:
    matrix = np.array([row for _, row, _ in rows]).reshape(len(rows), width)
    limits = np.array([limit for *_, limit in rows], dtype=np.float64)
    return matrix, limits, tuple(key for key, *_ in rows)


def _draw_range(task: Task, rows: Ints, lifted: Lifted) -> tuple[Floats, Floats, Flags]:
    """Least and most of a draw as fractions, and whether the cask can be emptied beyond."""
    limits, stock = task.limits, task.stock
    n = len(rows)
    if is_whole(limits, lifted):
        return np.ones(n), np.ones(n), np.zeros(n, dtype=np.bool_)
    litres, bulk = stock.available_litres[rows], stock.bulk_litres[rows]
    smallest = 0.0 if is_lifted(lifted, LimitKind.SMALLEST_DRAW) else limits.smallest_draw_litres
    least_lpa = 0.0 if is_lifted(lifted, LimitKind.CASK_LPA) else limits.minimum_cask_lpa
    draw = np.maximum(smallest, 100.0 * least_lpa / stock.abv_percent[rows])
    low = np.minimum(1.0, draw / litres)
    if limits.leave_litres is None or is_lifted(lifted, LimitKind.LEAVE):
        return low, np.ones(n), np.zeros(n, dtype=np.bool_)
    reserved = stock.reserved_litres[rows]
    high = (bulk - np.maximum(limits.leave_litres, reserved)) / litres
    can_empty = reserved <= 0.0
    only_empty = (high < low) & can_empty
    return (
        np.where(only_empty, 1.0, low),
        np.where(only_empty, 1.0, np.minimum(high, 1.0)),
        can_empty & ~only_empty,
    )


def _forced(task: Task, rows: Ints, lifted: Lifted) -> Flags:
    kept = [
        name
        for which, name in enumerate(task.limits.must_include)
        if not is_lifted(lifted, LimitKind.MUST_INCLUDE, which)
    ]
    names = task.stock.names[rows].astype(str)
    return np.asarray(np.isin(names, np.array(kept, dtype=str)))


def _preferences(task: Task, rows: Ints, lpa: Floats) -> Floats:
    """Costs far below a point, that decide between answers which are equally right."""
    if not len(rows):
        return np.zeros(0)
    ages = np.nan_to_num(ages_at_bottling(task.stock, task.limits)[rows])
    spare = np.maximum(ages - (task.limits.age_statement_years or 0), 0.0) / _OLD_YEARS
    columns = task.stock.columns_of(task.descriptors)
    doubt = (task.stock.sd[np.ix_(rows, columns)] / task.tolerance).mean(axis=1) / 2.0
    kinds = task.stock.text("wood")[rows].astype(str)
    _, kind, count = np.unique(kinds, return_inverse=True, return_counts=True)
    rarity = 1.0 / np.sqrt(count[kind])
    total = np.minimum(spare, 1.0) + np.minimum(doubt, 1.0) + rarity
    cost: Floats = _PREFERENCE / 3.0 * total * lpa / needed_lpa(task, rows)
    return cost
