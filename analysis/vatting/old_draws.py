"""Which casks of a vatting were nosed so long ago that the plan hangs on them."""

from __future__ import annotations

import numpy as np

from ..ageing.deciding import deciding
from ..array_types import Flags, Floats, Ints
from ..house_line import on_the_line
from ..target import ends_of
from .chance import Expectation
from .task import Task


def deciding_draws(task: Task, rows: Ints, litres: Floats, expectation: Expectation) -> Flags:
    """Which of the casks of a vatting decide it by the years since they were drawn.

    Each by itself, the others as they are by now. What the move did to a cask's notes counts by
    its share of pure alcohol and, on a potent note, by how much a point of it moves the mixture.
    """
    stock = task.stock
    if stock.added_sd is None or stock.grown is None:
        return np.zeros(len(rows), dtype=np.bool_)
    columns = stock.columns_of(task.descriptors)
    lpa = litres * stock.abv_percent[rows]
    share = (lpa / lpa.sum())[:, None]
    n, gain = task.amounts.exponent, task.amounts.gain
    score = np.maximum(on_the_line(stock.estimate[np.ix_(rows, columns)]), 1.0)
    amount = (share * score ** (1.0 / n)).sum(axis=0)
    moved = gain * amount ** (n - 1.0) * share * score ** (1.0 / n - 1.0)
    added = (moved * np.nan_to_num(stock.added_sd[np.ix_(rows, columns)])) ** 2
    grown = moved * np.nan_to_num(stock.grown[np.ix_(rows, columns)])
    lines = expectation.lines
    shape = (len(rows), len(lines))
    return deciding(
        np.broadcast_to(np.array([line.estimate for line in lines]), shape),
        np.maximum(np.array([line.sd**2 for line in lines]), added),
        grown,
        added,
        np.nan_to_num(stock.number("years_moved")[rows]),
        ends_of(task.target),
    )
