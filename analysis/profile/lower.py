"""Triangular factors in double precision, or in single where a system is large."""

from __future__ import annotations

import numpy as np
import scipy.linalg.lapack
from numpy.typing import DTypeLike

from ..array_types import Matrix
from ..errors import FitError

_LEAST_PIVOT = 1e-12
"""Share of itself that rounding leaves of a column that others already say."""


def cholesky(matrix: Matrix) -> Matrix:
    """Lower factor of a symmetric matrix, which is overwritten.

    Raises
    ------
    FitError
        If two fixed columns say the same; single precision cannot always tell.
    """
    least = 0.0 if _is_single(matrix) else _LEAST_PIVOT * np.diag(matrix)
    routine = scipy.linalg.lapack.spotrf if _is_single(matrix) else scipy.linalg.lapack.dpotrf
    factor, fault = routine(matrix.T, lower=1, clean=0, overwrite_a=1)
    if fault or (np.diag(factor) ** 2 <= least).any():
        raise FitError("The fixed part cannot be told apart: two of its columns say the same.")
    found: Matrix = factor
    return found


def solved(factor: Matrix, rows: Matrix, *, transposed: bool = False) -> Matrix:
    """``L^-1 rows``, or ``L^-T rows``, in the precision of the factor."""
    single = _is_single(factor)
    routine = scipy.linalg.lapack.strtrs if single else scipy.linalg.lapack.dtrtrs
    found: Matrix = routine(
        factor, cast(rows, factor.dtype), lower=1, trans=1 if transposed else 0
    )[0]
    return found


def cast(values: Matrix, dtype: DTypeLike) -> Matrix:
    """The same numbers in a precision; not copied where they have it."""
    found: Matrix = values.astype(dtype, copy=False)
    return found


def _is_single(matrix: Matrix) -> bool:
    return matrix.dtype == np.dtype(np.float32)
