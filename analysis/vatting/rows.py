"""Rows that a vatting must keep: quantity, strength, shares, casks."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from ..array_types import Floats, Ints
from ..strength import Part, vat
from .check import needed_quantity, quantities
from .eligible import is_lifted, share_members
from .limits import Basis, Lifted, LimitKey, LimitKind, Limits
from .stock import Stock
from .task import Task

_MARGIN = 1e-5
"""More than a solver's tolerance, less than a bottle."""
_DIFFERENT_BY = 3

Row = tuple[LimitKey | None, Floats, float]
"""Which limit it is of, coefficients over the casks, and what their sum may be at most."""


def needed_lpa(task: Task, rows: Ints) -> float:
    """Pure alcohol that the vatting will hold; at natural strength reckoned from the mean."""
    needed = needed_quantity(task.limits)
    if task.limits.abv_percent is not None:
        return needed
    return needed * _mean_abv(task, rows) / 100.0


def _mean_abv(task: Task, rows: Ints) -> float:
    return float(task.stock.abv_percent[rows].mean()) if len(rows) else 60.0


def hard_rows(task: Task, rows: Ints, lifted: Lifted) -> list[Row]:
    """Rows over the fractions that casks give, scaled so that 1 is the whole vatting."""
    limits = task.limits
    share = shares_of_quantity(task.stock, limits)[rows]
    extra = _MARGIN + _contraction(task.stock, limits, rows)
    found: list[Row] = []
    if not is_lifted(lifted, LimitKind.QUANTITY):
        found.append((LimitKey(LimitKind.QUANTITY), -share, -(1.0 + extra)))
    if not is_lifted(lifted, LimitKind.EXCESS):
        found.append(
            (LimitKey(LimitKind.EXCESS), share, most_of_quantity(task.stock, limits, rows))
        )
    if limits.abv_percent is not None and not is_lifted(lifted, LimitKind.STRENGTH):
        found.append((LimitKey(LimitKind.STRENGTH), _weakness(task, rows), 0.0))
    for which, wanted in enumerate(limits.shares):
        if wanted.basis is Basis.CASKS or is_lifted(lifted, LimitKind.SHARE, which):
            continue
        part = _parts_of_vat(task, rows, wanted.basis)
        member = share_members(task.stock, wanted.column, wanted.values)[rows].astype(float)
        key = LimitKey(LimitKind.SHARE, which)
        found.append((key, part * (member - wanted.high), 0.0))
        found.append((key, part * (wanted.low - member), 0.0))
    return found


def shares_of_quantity(stock: Stock, limits: Limits) -> Floats:
    """What each cask surely adds, all of it given, as a share of the quantity asked for.

    Both least and most are held to these: `over` is how far what is surely there may go beyond.
    """
    found: Floats = quantities(stock, limits) / needed_quantity(limits)
    return found


def most_of_quantity(stock: Stock, limits: Limits, rows: Ints) -> float:
    """What the shares of a vatting may come to at most, chosen from casks of these rows."""
    return 1.0 + 2 * (_MARGIN + _contraction(stock, limits, rows)) + limits.window


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


def _contraction(stock: Stock, limits: Limits, rows: Ints) -> float:
    """At natural strength: the most that the vat can shrink by on mixing, as a fraction."""
    if limits.abv_percent is not None or not len(rows):
        return 0.0
    abv = stock.abv_percent[rows]
    mixed = vat([Part(50.0, float(abv.min())), Part(50.0, float(abv.max()))])
    return mixed.contraction_litres / mixed.bulk_litres


def count_rows(task: Task, rows: Ints, lifted: Lifted) -> list[Row]:
    """Rows over the casks used, whatever they give."""
    limits, ones = task.limits, np.ones(len(rows))
    found: list[Row] = []
    if limits.casks_max is not None and not is_lifted(lifted, LimitKind.CASKS_MAX):
        found.append((LimitKey(LimitKind.CASKS_MAX), ones, float(limits.casks_max)))
    if limits.casks_min is not None and not is_lifted(lifted, LimitKind.CASKS_MIN):
        found.append((LimitKey(LimitKind.CASKS_MIN), -ones, -float(limits.casks_min)))
    for which, share in enumerate(limits.shares):
        if share.basis is Basis.CASKS and not is_lifted(lifted, LimitKind.SHARE, which):
            member = share_members(task.stock, share.column, share.values)[rows].astype(float)
            key = LimitKey(LimitKind.SHARE, which)
            found.append((key, member - share.high, 0.0))
            found.append((key, share.low - member, 0.0))
    return found


def unlike_rows(task: Task, rows: Ints, unlike: Sequence[Collection[str]]) -> list[Row]:
    """Rows that keep an answer away from earlier ones."""
    names = task.stock.names[rows].astype(str)
    found: list[Row] = []
    for earlier in unlike:
        free = set(earlier) - set(task.limits.must_include)
        member = np.isin(names, np.array(sorted(free), dtype=str))
        lacking = min(_DIFFERENT_BY, (len(free) + 1) // 2)
        found.append((None, member.astype(np.float64), float(len(free) - lacking)))
    return found
