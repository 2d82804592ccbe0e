"""Medians with weights: half of the weight lies on either side."""

from __future__ import annotations

import numpy as np

from ..array_types import Floats

_TO_SD = 1.4826
"""From the median deviation to a standard deviation, where all is normal."""


def middle(values: Floats, weight: Floats) -> float:
    """Return the weighted median.

    Examples
    --------
    >>> middle(np.array([1.0, 2.0, 9.0]), np.ones(3))
    2.0
    >>> middle(np.array([1.0, 2.0]), np.ones(2))
    1.5
    """
    order = np.argsort(values)
    sums = np.cumsum(weight[order])
    half = 0.5 * sums[-1]
    low, high = np.searchsorted(sums, half * (1 - 1e-12)), np.searchsorted(sums, half * (1 + 1e-12))
    last = len(values) - 1
    return float(0.5 * (values[order[min(low, last)]] + values[order[min(high, last)]]))


def lower_spread(values: Floats, weight: Floats) -> float:
    """Return the standard deviation by the weighted median deviation below the weighted median.

    What lies far above moves it little.
    """
    below = values <= middle(values, weight)
    return _TO_SD * middle(middle(values, weight) - values[below], weight[below])
