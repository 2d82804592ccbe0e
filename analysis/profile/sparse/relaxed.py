"""Columns of a sparse factor put together whose rows are nearly the same (Ashcraft & Grimes 1989).

A step of the inverse costs much the same for three columns as for thirty. So columns go with those
that follow them where few places come in that hold nothing. Single columns of few rows that nothing
hangs on stay as they are and come first: those are reckoned many at once.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from ...array_types import Codes

WIDEST_AT_ONCE = 48
"""Rows of a column up to which columns that nothing hangs on are reckoned together."""
_STEP, _PLACE, _PRODUCT = 3e-5, 8e-9, 3e-10
"""Seconds of a step of the inverse: of any, a place among its columns and rows, and a product."""


class _Run(NamedTuple):
    """Columns from `first` to before `last`, which share the rows below them."""

    first: int
    last: int
    rows: Codes
    leaf: bool

    @property
    def seconds(self) -> float:
        """About how long its step of the inverse takes."""
        k, r = self.last - self.first, len(self.rows)
        return _STEP + _PLACE * (k + r) ** 2 + _PRODUCT * k * (k + r) ** 2


def numbered_anew(starts: Codes, rows: Codes) -> Codes:
    """New number of each column: leaves first, then each after what hangs on it, the largest last.

    No column comes before one that hangs on it, so that the factor stays the same.
    """
    runs = _runs(starts, rows)
    run_of = np.repeat(np.arange(len(runs)), [run.last - run.first for run in runs])
    hanging: list[list[int]] = [[] for _ in runs]
    tops: list[int] = []
    for k, run in enumerate(runs):
        if not run.leaf:
            (hanging[run_of[run.rows[0]]] if len(run.rows) else tops).append(k)
    for each in (*hanging, tops):
        each.sort(key=lambda k: runs[k].last - runs[k].first + len(runs[k].rows))
    order = [k for k, run in enumerate(runs) if run.leaf] + _downwards(hanging, tops)
    columns = np.concatenate([np.arange(runs[k].first, runs[k].last) for k in order])
    found = np.empty_like(columns)
    found[columns] = np.arange(len(columns))
    return found


def _downwards(hanging: list[list[int]], tops: list[int]) -> list[int]:
    """Each run after all that hangs on it."""
    found, waiting = [], list(tops)
    while waiting:
        k = waiting.pop()
        found.append(k)
        waiting.extend(hanging[k])
    return found[::-1]


def put_together(starts: Codes, rows: Codes) -> tuple[Codes, Codes]:
    """The same places and some more; columns compressed, diagonal first."""
    runs: list[_Run] = []
    for each in _runs(starts, rows):
        runs.append(each)
        while len(runs) > 1 and (both := _both(runs[-2], runs[-1])) is not None:
            runs[-2:] = [both]
    whole = [np.concatenate([np.arange(run.first, run.last), run.rows]) for run in runs]
    found = [
        rows[trapezoid(run.last - run.first, len(rows))[1]]
        for run, rows in zip(runs, whole, strict=True)
    ]
    counts = [
        len(rows) - np.arange(run.last - run.first) for run, rows in zip(runs, whole, strict=True)
    ]
    return np.concatenate([[0], np.cumsum(np.concatenate(counts))]), np.concatenate(found)


@cache
def trapezoid(columns: int, rows: int) -> tuple[Codes, Codes]:
    """Column and row of each place on and below the diagonal, column by column."""
    column, row = np.nonzero(np.triu(np.ones((columns, rows), bool)))
    return column, row


def firsts_of(starts: Codes, rows: Codes) -> Codes:
    """First columns of those that share their rows, and the number of columns."""
    count = np.diff(starts)
    more = starts[:-1] + 1
    parent = np.where(count > 1, rows[np.minimum(more, len(rows) - 1)], -1)
    each = np.arange(len(count))
    goes_on = (parent[:-1] == each[1:]) & (count[:-1] == count[1:] + 1)
    found: Codes = np.flatnonzero(np.concatenate([[True], ~goes_on]))
    return np.append(found, len(count))


def _runs(starts: Codes, rows: Codes) -> list[_Run]:
    firsts = firsts_of(starts, rows)
    ends = starts[firsts[1:]]
    begins = starts[firsts[1:] - 1] + 1
    parents = rows[np.minimum(begins, len(rows) - 1)][begins < ends]
    has_children = np.zeros(len(starts) - 1, bool)
    has_children[parents] = True
    found = []
    for first, last, begin, end in zip(
        firsts[:-1].tolist(), firsts[1:].tolist(), begins.tolist(), ends.tolist(), strict=True
    ):
        alone = last - first == 1 and not has_children[first]
        leaf = alone and 0 < end - begin <= WIDEST_AT_ONCE
        found.append(_Run(first, last, rows[begin:end], leaf))
    return found


def _both(run: _Run, then: _Run) -> _Run | None:
    """Two put together, where the first hangs on the second and a step of both is sooner done."""
    if run.leaf or not len(run.rows) or run.rows[0] >= then.last:
        return None
    both = _Run(run.first, then.last, then.rows, leaf=False)
    return both if both.seconds < run.seconds + then.seconds else None
