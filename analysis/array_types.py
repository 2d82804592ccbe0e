"""Names of the arrays that the analysis passes about; the shape stands in each docstring."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""Numbers of any shape."""
Vector = NDArray[np.float64]
"""Numbers in one row."""
Matrix = NDArray[np.float64]
"""Numbers in rows and columns."""
Stack = NDArray[np.float64]
"""Several matrices of one size: three dimensions."""
Codes = NDArray[np.intp]
"""Which level each row has, counted from 0."""
Ints = NDArray[np.intp]
"""Whole numbers: rows of a frame, counts."""
Flags = NDArray[np.bool_]
"""Whether something holds, one a row."""
Names = NDArray[np.object_]
"""Texts, some of them missing."""
