"""Inverses of many small matrices."""

from __future__ import annotations

import numpy as np

from ..array_types import Floats


def inverse_of(matrices: Floats) -> Floats:
    """Inverse of each matrix, shape (..., n, n).

    Examples
    --------
    >>> inverse_of(np.array([[[2.0]], [[4.0]]])).ravel().tolist()
    [0.5, 0.25]
    """
    if matrices.shape[-1] == 1:
        one: Floats = 1.0 / matrices
        return one
    return np.asarray(np.linalg.inv(matrices), dtype=np.float64)
