"""The middle of each row of a table with holes, quickly: charts ask it thousands of times."""

from __future__ import annotations

import numpy as np

from ...array_types import Matrix, Vector


def row_medians(table: Matrix) -> Vector:
    """Median of each row; NaN where it is empty.

    Examples
    --------
    >>> row_medians(np.array([[3.0, np.nan, 1.0], [1.0, 5.0, 9.0], [np.nan] * 3])).tolist()
    [2.0, 5.0, nan]
    """
    if not table.shape[1]:
        return np.full(len(table), np.nan)
    ordered = np.sort(table, axis=1)
    n = np.maximum((~np.isnan(table)).sum(axis=1), 1)
    at = np.arange(len(table))
    middle: Vector = 0.5 * (ordered[at, (n - 1) // 2] + ordered[at, n // 2])
    return middle
