"""One sparse factor ``L D L'`` of a symmetric matrix whose pattern stays.

Rows are ordered by minimum degree once. SuperLU leaves out entries of L that happen to be nothing;
here they keep their places.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse
import scipy.sparse.linalg

from ...array_types import Codes, Matrix, Vector
from ...errors import FitError
from .relaxed import numbered_anew, put_together

_SYMMETRIC = {"SymmetricMode": True}


class Ordering:
    """Where each row goes, and the places of L.

    Parameters
    ----------
    row, column
        Places of one triangle, diagonal and all, in any order, each once.

    Attributes
    ----------
    place
        Number of each row in the factor.
    anew
        Number among the places of L of each row of the factor; `number`, of each row.
    starts, rows
        Of the columns of L in those numbers: compressed, diagonal first. `exact_starts` and
        `exact_rows` are of L itself, without places that hold nothing.
    """

    def __init__(self, row: Codes, column: Codes, size: int) -> None:
        self.size = size
        off = row != column
        self._off = off
        values = np.random.default_rng(5).uniform(0.5, 1.0, len(row))
        self.place, way, settled = np.arange(size), "MMD_AT_PLUS_A", False
        while not settled:
            self._arrange(row, column)
            lu = self._split(self._matrix(_dominant(row, column, values, size)), way)
            self.place, way = lu.perm_c[self.place], "NATURAL"
            settled = np.array_equal(lu.perm_c, np.arange(size))
        lower = lu.L.tocsc()
        lower.sort_indices()
        starts, rows = lower.indptr.astype(np.intp), lower.indices.astype(np.intp)
        self.anew = numbered_anew(starts, rows)
        self.number = self.anew[self.place]
        self.exact_starts, self.exact_rows = self._moved(starts, rows)
        self.starts, self.rows = put_together(self.exact_starts, self.exact_rows)
        self._keys = self._keys_of(self.starts, self.rows)
        self._given = (np.empty(0, np.int32), np.empty(0, np.int32))
        self._to: Codes = np.empty(0, np.intp)

    def _arrange(self, row: Codes, column: Codes) -> None:
        """Where the values of the triangle go in the compressed matrix of both."""
        r, c = self.place[row], self.place[column]
        rows = np.concatenate([r, c[self._off]])
        columns = np.concatenate([c, r[self._off]])
        order = np.argsort(columns.astype(np.int64) * self.size + rows)
        self._source = np.concatenate([np.arange(len(row)), np.flatnonzero(self._off)])[order]
        self._indices = rows[order].astype(np.int32)
        counts = np.bincount(columns, minlength=self.size)
        self._indptr = np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)

    def _matrix(self, values: Vector) -> scipy.sparse.csc_matrix:
        data = (values[self._source], self._indices, self._indptr)
        return scipy.sparse.csc_matrix(data, shape=(self.size, self.size))

    def _split(self, matrix: scipy.sparse.csc_matrix, way: str) -> scipy.sparse.linalg.SuperLU:
        try:
            found = scipy.sparse.linalg.splu(
                matrix, permc_spec=way, diag_pivot_thresh=0.0, options=_SYMMETRIC
            )
        except RuntimeError as error:
            raise FitError("The sparse factor broke down: a pivot is nothing.") from error
        if not np.array_equal(found.perm_c, found.perm_r):
            raise FitError("The sparse factor broke down: rows and columns went different ways.")
        return found

    def _moved(self, starts: Codes, rows: Codes) -> tuple[Codes, Codes]:
        """Columns and rows in their new numbers."""
        column = np.repeat(self.anew, np.diff(starts))
        row = self.anew[rows]
        order = np.argsort(column.astype(np.int64) * self.size + row)
        counts = np.bincount(column, minlength=self.size)
        return np.concatenate([[0], np.cumsum(counts)]), row[order]

    def _keys_of(self, starts: Codes, rows: Codes) -> Codes:
        columns = np.repeat(np.arange(self.size), np.diff(starts))
        found: Codes = columns.astype(np.int64) * self.size + rows
        return found

    def slots(self, row: Codes, column: Codes) -> Codes:
        """Places in L of pairs of rows."""
        r, c = self.number[row], self.number[column]
        return self.at(np.maximum(r, c), np.minimum(r, c))

    def at(self, row: Codes, column: Codes) -> Codes:
        """Places in L of their numbers there, the row not above the column."""
        found: Codes = np.searchsorted(self._keys, column.astype(np.int64) * self.size + row)
        return found

    def factored(self, values: Vector) -> Factor:
        """Factor the matrix with these values, in the order of the places given."""
        lu = self._split(self._matrix(values), "NATURAL")
        pivots = lu.U.diagonal()
        if not (pivots > 0.0).all():
            raise FitError("The sparse factor broke down: a pivot is below nothing.")
        return Factor(self, lu, pivots)

    def spread(self, lower: scipy.sparse.csc_matrix) -> Vector:
        """The values of L at all its places.

        SuperLU gives them in the same order each time unless one happens to be nothing.
        """
        given = (lower.indptr, lower.indices)
        if not all(map(np.array_equal, given, self._given)):
            self._given = given
            column = np.repeat(self.anew, np.diff(lower.indptr))
            self._to = self.at(self.anew[lower.indices], column)
        found = np.zeros(len(self.rows))
        found[self._to] = lower.data
        return found


@dataclass(frozen=True)
class Factor:
    """A factor; its rows are numbered as in `Ordering.place`."""

    ordering: Ordering
    lu: scipy.sparse.linalg.SuperLU
    pivots: Vector

    def solve(self, right: Matrix) -> Matrix:
        """Solve for one column or several, in the numbers of the matrix."""
        place = self.ordering.place
        moved = np.empty_like(right)
        moved[place] = right
        found: Matrix = self.lu.solve(moved)[place]
        return found

    @property
    def log_determinant(self) -> float:
        """Of the matrix."""
        return float(np.log(self.pivots).sum())

    @property
    def lower(self) -> Vector:
        """Values of L at its places; ones on the diagonal."""
        return self.ordering.spread(self.lu.L.tocsc())

    @property
    def pivots_at_places(self) -> Vector:
        """The pivots in the order of the columns of the places."""
        found = np.empty_like(self.pivots)
        found[self.ordering.anew] = self.pivots
        return found


def _dominant(row: Codes, column: Codes, values: Vector, size: int) -> Vector:
    """A matrix of these places that surely has a factor, and no entry of it by chance nothing."""
    off = row != column
    found = np.where(off, -values, 0.0)
    total = np.bincount(row[off], values[off], size) + np.bincount(column[off], values[off], size)
    found[~off] = total[row[~off]] + 1.0
    return found
