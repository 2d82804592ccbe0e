"""The linear problem: rows over the fractions that casks give."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.strength import Part, vat
from analysis.vatting.check import needed_quantity, quantities
from analysis.vatting.eligible import (
    ages_at_bottling,
    eligible_casks,
    is_lifted,
    is_whole,
    share_members,
)
from analysis.vatting.limits import NOTHING_LIFTED, Basis, Lifted, LimitKey, LimitKind
from analysis.vatting.stock import Flags, Floats, Ints
from analysis.vatting.task import Band, Task

_MARGIN = 1e-5
"""More than a solver's tolerance, less than a bottle."""
_PREFERENCE = 0.001
_CASK_COST = 1e-6
_OLD_YEARS = 30.0
_DIFFERENT_BY = 3

Row = tuple[LimitKey | None, Floats, float]


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
        used = np.count_nonzero(fractions > 0.0)
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
    low, high, can_empty = _draw_range(task, rows, lifted)
    possible = high >= low
    rows, low, high, can_empty = (part[possible] for part in (rows, low, high, can_empty))
    hard = _hard_rows(task, rows, lifted)
    count = [*_count_rows(task, rows, lifted), *_unlike_rows(task, rows, unlike)]
    litres = task.stock.available_litres[rows]
    lpa = litres * task.stock.abv_percent[rows] / 100.0
    bare = Model(
        rows=rows,
        litres=litres,
        lpa=lpa,
        soft=np.empty((0, len(rows))),
        soft_line=np.empty(0, dtype=np.intp),
        soft_weight=np.empty(0),
        **_stacked("hard", hard, len(rows)),
        **_stacked("count", count, len(rows)),
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
    end_over = task.amounts.amount(band.high[over])
    end_under = task.amounts.amount(band.low[under])
    above = ((amounts[:, over] - end_over) / slope[over]).T * share
    below = ((end_under - amounts[:, under]) / slope[under]).T * share
    lines = np.concatenate([over, under]).astype(np.intp)
    return replace(
        model,
        soft=np.vstack([above, below]),
        soft_line=lines,
        soft_weight=task.weight[lines],
    )


def needed_lpa(task: Task, rows: Ints) -> float:
    """Pure alcohol that the vatting will hold; at natural strength reckoned from the mean."""
    needed = needed_quantity(task.limits)
    if task.limits.abv_percent is not None:
        return needed
    return needed * _mean_abv(task, rows) / 100.0


def _mean_abv(task: Task, rows: Ints) -> float:
    return float(task.stock.abv_percent[rows].mean()) if len(rows) else 60.0


def _stacked(name: str, rows: Sequence[Row], width: int) -> dict[str, object]:
    matrix = np.array([row for _, row, _ in rows]).reshape(len(rows), width)
    return {
        name: matrix,
        f"{name}_limit": np.array([limit for *_, limit in rows], dtype=np.float64),
        f"{name}_key": tuple(key for key, *_ in rows),
    }


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


def _hard_rows(task: Task, rows: Ints, lifted: Lifted) -> list[Row]:
    limits = task.limits
    share = quantities(task.stock, limits)[rows] / needed_quantity(limits)
    extra = _MARGIN + _contraction(task, rows)
    found: list[Row] = []
    if not is_lifted(lifted, LimitKind.QUANTITY):
        found.append((LimitKey(LimitKind.QUANTITY), -share, -(1.0 + extra)))
    if not is_lifted(lifted, LimitKind.EXCESS):
        found.append((LimitKey(LimitKind.EXCESS), share, 1.0 + 2 * extra + limits.window))
    if limits.abv_percent is not None and not is_lifted(lifted, LimitKind.STRENGTH):
        found.append((LimitKey(LimitKind.STRENGTH), _weakness(task, rows), 0.0))
    for which, wanted in enumerate(limits.shares):
        if wanted.basis is Basis.CASKS or is_lifted(lifted, LimitKind.SHARE, which):
            continue
        part = _parts_of_vat(task, rows, wanted.basis)
        member = share_members(task.stock, wanted.column, wanted.values)[rows]
        key = LimitKey(LimitKind.SHARE, which)
        found.append((key, part * (member - wanted.high), 0.0))
        found.append((key, part * (wanted.low - member), 0.0))
    return found


def _weakness(task: Task, rows: Ints) -> Floats:
    """Strength wanting, by litres. Contraction makes a vat stronger than this, never weaker."""
    wanted = task.limits.abv_percent or 0.0
    below = wanted - task.stock.abv_percent[rows]
    return _parts_of_vat(task, rows, Basis.BULK) * below / 10.0


def _parts_of_vat(task: Task, rows: Ints, basis: Basis) -> Floats:
    litres, abv = task.stock.available_litres[rows], task.stock.abv_percent[rows]
    total_lpa = needed_lpa(task, rows)
    if basis is Basis.LPA:
        return litres * abv / 100.0 / total_lpa
    return litres * _mean_abv(task, rows) / 100.0 / total_lpa


def _contraction(task: Task, rows: Ints) -> float:
    """At natural strength: the most that the vat can shrink by on mixing, as a fraction."""
    if task.limits.abv_percent is not None or not len(rows):
        return 0.0
    abv = task.stock.abv_percent[rows]
    mixed = vat([Part(50.0, float(abv.min())), Part(50.0, float(abv.max()))])
    return mixed.contraction_litres / mixed.bulk_litres


def _count_rows(task: Task, rows: Ints, lifted: Lifted) -> list[Row]:
    limits, ones = task.limits, np.ones(len(rows))
    found: list[Row] = []
    if limits.casks_max is not None and not is_lifted(lifted, LimitKind.CASKS_MAX):
        found.append((LimitKey(LimitKind.CASKS_MAX), ones, float(limits.casks_max)))
    if limits.casks_min is not None and not is_lifted(lifted, LimitKind.CASKS_MIN):
        found.append((LimitKey(LimitKind.CASKS_MIN), -ones, -float(limits.casks_min)))
    for which, share in enumerate(limits.shares):
        if share.basis is Basis.CASKS and not is_lifted(lifted, LimitKind.SHARE, which):
            member = share_members(task.stock, share.column, share.values)[rows]
            key = LimitKey(LimitKind.SHARE, which)
            found.append((key, member - share.high, 0.0))
            found.append((key, share.low - member, 0.0))
    return found


def _unlike_rows(task: Task, rows: Ints, unlike: Sequence[Collection[str]]) -> list[Row]:
    names = task.stock.names[rows].astype(str)
    found: list[Row] = []
    for earlier in unlike:
        free = set(earlier) - set(task.limits.must_include)
        member = np.isin(names, np.array(sorted(free), dtype=str))
        lacking = min(_DIFFERENT_BY, (len(free) + 1) // 2)
        found.append((None, member.astype(np.float64), float(len(free) - lacking)))
    return found


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
