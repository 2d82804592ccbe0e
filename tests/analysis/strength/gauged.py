"""What went between gauges of made-up casks, a pair each, as the store tells it."""

from __future__ import annotations

import numpy as np

from analysis.array_types import Codes, Floats
from analysis.strength.neighbours import Intervals
from analysis.strength.yearly import SOAK


def between(
    lost: Floats,
    *,
    begins: float | Floats = 2010.0,
    years: float | Floats = 10.0,
    cask: Codes | None = None,
    store: Codes | None = None,
    size_litres: float | Floats = 250.0,
    fresh: bool = True,
    method: int = 1,
) -> Intervals:
    """Return pairs of gauges, the first of a new filling or not, *lost* besides the first soak."""
    n, one = len(lost), np.ones(len(lost))
    casks = np.arange(n) if cask is None else cask
    return Intervals(
        cask=casks,
        store=np.zeros(n, dtype=np.intp) if store is None else store,
        size_litres=size_litres * one,
        begins=begins * one,
        ends=(begins + years) * one,
        lost=lost + (SOAK * (250.0 / (size_litres * one)) ** (1.0 / 3.0) if fresh else 0.0),
        soaked=one * fresh,
        error_before=0.005 * one,
        error_after=0.005 * one,
        method_before=np.full(n, 0 if fresh else method),
        method_after=np.full(n, method),
        follows=np.append(False, casks[1:] == casks[:-1])[:n],
    )
