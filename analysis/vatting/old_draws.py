"""Which casks of a vatting were nosed so long ago that the plan hangs on them."""

from __future__ import annotations

import numpy as np

from analysis.ageing.deciding import deciding, share_of_doubt
from analysis.array_types import Flags, Floats, Ints
from analysis.house_line import on_the_line
from analysis.vatting.chance import Expectation
from analysis.vatting.task import Task


def deciding_draws(task: Task, rows: Ints, litres: Floats, expectation: Expectation) -> Flags:
    """Which of the casks of a vatting decide it by the years since they were drawn.

    What the move of a cask's notes added counts by its share of pure alcohol and, on a potent
    note, by how much a point of it moves the mixture.
    """
    stock = task.stock
    if stock.added_sd is None:
        return np.zeros(len(rows), dtype=np.bool_)
    columns = stock.columns_of(task.descriptors)
    lpa = litres * stock.abv_percent[rows]
    share = (lpa / lpa.sum())[:, None]
    n, gain = task.amounts.exponent, task.amounts.gain
    score = np.maximum(on_the_line(stock.estimate[np.ix_(rows, columns)]), 1.0)
    amount = (share * score ** (1.0 / n)).sum(axis=0)
    moved = gain * amount ** (n - 1.0) * share * score ** (1.0 / n - 1.0)
    added = (moved * np.nan_to_num(stock.added_sd[np.ix_(rows, columns)])) ** 2
    whole = np.array([line.sd**2 for line in expectation.lines])
    within = np.array([line.probability for line in expectation.lines])
    years = np.nan_to_num(stock.number("years_moved")[rows])
    return deciding(share_of_doubt(added, whole, within), years, expectation.probability)
