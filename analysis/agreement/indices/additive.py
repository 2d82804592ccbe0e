"""Assessor plus sample, by least squares, on a table that may have holes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector

_NOTHING = 1e-9


@dataclass(frozen=True)
class Additive:
    """The fit ``row + column`` to a table of assessors (rows) by samples (columns).

    Attributes
    ----------
    levels, columns
        Of each row, and of each column about their mean; NaN where nothing was scored.
    left
        What is left of each cell, NaN where empty.
    unit
        Covariance of the columns for an error variance of one.
    rank
        Degrees of freedom between columns: one less than the columns when all hang together.
    df
        Degrees of freedom left over.
    between
        Sum of squares of the columns, rows taken out.
    """

    levels: Vector
    columns: Vector
    left: Matrix
    unit: Matrix
    rank: int
    df: int
    between: float

    @property
    def variance(self) -> float:
        """Mean square left over; NaN without a degree of freedom."""
        return float(np.nansum(self.left**2)) / self.df if self.df > 0 else float("nan")

    @property
    def f(self) -> float | None:
        """F of the columns over what is left; None when there is nothing to divide by."""
        noise = self.variance
        if self.rank < 1 or not noise > _NOTHING:
            return None
        return self.between / self.rank / noise

    @property
    def exact(self) -> bool:
        """Whether nothing is left over where something could be."""
        size = float(np.nanmax(np.abs(self.levels), initial=0.0))
        return self.df > 0 and self.variance <= (_NOTHING * max(size, 1.0)) ** 2

    @property
    def joined(self) -> bool:
        """Whether every column can be compared with every other."""
        return self.rank == len(self.columns) - 1


def additive(table: Matrix) -> Additive:
    """Fit ``row + column`` to a table, NaN where empty.

    Parameters
    ----------
    table
        Shape (rows, columns).

    Returns
    -------
    Additive

    Notes
    -----
    With N the cells that are there, m and n their numbers by row and by column, the columns
    solve ``(diag(n) - N' diag(1/m) N) c = N'y - N' diag(1/m) N y``: the rows are absorbed, so
    that many rows cost nothing.

    Examples
    --------
    >>> found = additive(np.array([[1.0, 5.0, np.nan], [3.0, 7.0, 9.0]]))
    >>> found.columns.round(6).tolist(), found.rank, found.df
    ([-3.333333, 0.666667, 2.666667], 2, 1)
    """
    present = ~np.isnan(table)
    known, there = np.where(present, table, 0.0), present.astype(np.float64)
    m, n = np.maximum(there.sum(axis=1), 1.0), there.sum(axis=0)
    own = known.sum(axis=1)
    right = known.sum(axis=0) - there.T @ (own / m)
    unit, rank = _unit(there, m, n)
    columns = unit @ right
    columns = np.where(n > 0, columns - columns[n > 0].mean(), np.nan)
    levels = (own - there @ np.nan_to_num(columns)) / m
    left = np.where(present, table - levels[:, None] - columns, np.nan)
    rows = int(present.any(axis=1).sum())
    return Additive(
        levels=np.where(present.any(axis=1), levels, np.nan),
        columns=columns,
        left=left,
        unit=unit,
        rank=rank,
        df=int(present.sum()) - rows - rank,
        between=float(np.nan_to_num(columns) @ right),
    )


def _unit(there: Matrix, m: Vector, n: Vector) -> tuple[Matrix, int]:
    """Covariance of the columns for an error variance of one, and how many are free."""
    if there.size and there.all():
        size = len(n)
        return (np.eye(size) - 1.0 / size) / len(m), size - 1
    values, vectors = np.linalg.eigh(np.diag(n) - there.T @ (there / m[:, None]))
    kept = values > _NOTHING * max(float(n.max(initial=0.0)), 1.0)
    return (vectors[:, kept] / values[kept]) @ vectors[:, kept].T, int(kept.sum())
