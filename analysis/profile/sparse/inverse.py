"""Entries of the inverse of a sparse matrix on the places of its factor (Takahashi 1973).

With ``A = L D L'`` and columns J of L that share the rows R below them::

    Z_RJ = -Z_RR B          B = L_RJ L_JJ^-1
    Z_JJ = (L_JJ D_J L_JJ')^-1 - B' Z_RJ

from the last columns to the first (Erisman & Tinney 1975). ``Z_RR`` lies within what was found for
the columns that come next, so nothing beyond the places of L is ever needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
import scipy.linalg.blas
import scipy.linalg.lapack

from ...array_types import Codes, Matrix, Vector
from .factor import Factor, Ordering
from .relaxed import WIDEST_AT_ONCE, firsts_of, trapezoid

_MANY = 64
"""Columns from which products of triangles are not written out."""


@dataclass(frozen=True)
class _Group:
    """Columns that share their rows.

    Attributes
    ----------
    first, last
        Columns, the last one not included.
    rows
        Below them.
    parent
        The group that follows, -1 for none.
    """

    first: int
    last: int
    rows: Codes
    parent: int


@dataclass(frozen=True)
class _Leaves:
    """Single columns of the same number of rows that nothing hangs on.

    Attributes
    ----------
    columns
        Their numbers.
    below
        Places of their rows in L, (columns, rows).
    among
        Places in L of all pairs of their rows, (columns, rows, rows).
    """

    columns: Codes
    below: Codes
    among: Codes


class Places:
    """How the columns of L hang together: once for a pattern."""

    def __init__(self, ordering: Ordering) -> None:
        self.starts, self.rows = ordering.starts, ordering.rows
        self.ordering = ordering
        firsts = firsts_of(self.starts, self.rows)
        group_of = np.repeat(np.arange(len(firsts) - 1), np.diff(firsts))
        self._groups = [self._group(int(a), int(b), group_of) for a, b in pairwise(firsts)]
        self._sort_leaves()
        self._within = {k: self._places_within(self._groups[k]) for k in self._others}

    def _group(self, first: int, last: int, group_of: Codes) -> _Group:
        rows = self.rows[self.starts[last - 1] + 1 : self.starts[last]]
        return _Group(first, last, rows, int(group_of[rows[0]]) if len(rows) else -1)

    def _places_within(self, group: _Group) -> Codes:
        """Places of a group's rows among the columns and rows of the group that follows."""
        if group.parent < 0:
            return group.rows
        then = self._groups[group.parent]
        whole = np.concatenate([np.arange(then.first, then.last), then.rows])
        return np.searchsorted(whole, group.rows)

    def _sort_leaves(self) -> None:
        """Apart from the others those groups of one column that nothing hangs on."""
        n = len(self._groups)
        children = np.bincount([g.parent for g in self._groups if g.parent >= 0], minlength=n)
        leaf = np.array(
            [
                g.last - g.first == 1 and not children[k] and 0 < len(g.rows) <= WIDEST_AT_ONCE
                for k, g in enumerate(self._groups)
            ]
        )
        self._others = [k for k in range(n) if not leaf[k]]
        waiting = [g.parent for k, g in enumerate(self._groups) if not leaf[k] and g.parent >= 0]
        self._waiting = np.bincount(waiting, minlength=n)
        single = np.array([g.first for k, g in enumerate(self._groups) if leaf[k]], dtype=np.intp)
        count = np.diff(self.starts)[single] - 1
        self._leaves = [self._alike(single[count == r], int(r)) for r in np.unique(count)]

    def _alike(self, columns: Codes, r: int) -> _Leaves:
        below = self.starts[columns][:, None] + 1 + np.arange(r)
        row = self.rows[below]
        low = np.minimum(row[:, :, None], row[:, None, :]).astype(np.int64)
        high = np.maximum(row[:, :, None], row[:, None, :])
        among = self.ordering.at(high, low)
        return _Leaves(columns, below, among)

    def inverse(self, factor: Factor) -> Vector:
        """Entries of the inverse at the places of L."""
        lower, pivots = factor.lower, factor.pivots_at_places
        found = np.empty(len(lower))
        fronts: dict[int, Matrix] = {}
        left = self._waiting.copy()
        for k in reversed(self._others):
            group = self._groups[k]
            known = _among_rows(group, self._within[k], fronts)
            front = self._front(group, known, lower, pivots, found)
            if left[k]:
                fronts[k] = front
            if group.parent >= 0:
                left[group.parent] -= 1
                if not left[group.parent]:
                    del fronts[group.parent]
        for leaves in self._leaves:
            _single(leaves, self.starts, lower, pivots, found)
        return found

    def _front(
        self, group: _Group, known: Matrix, lower: Vector, pivots: Vector, found: Vector
    ) -> Matrix:
        """The inverse among the columns and rows of a group; its columns go to `found`."""
        k, r = group.last - group.first, len(group.rows)
        at = slice(self.starts[group.first], self.starts[group.last])
        in_block, in_front = _trapezoid(k, k + r)
        block = np.zeros((k + r, k))
        block.put(in_block, lower[at])
        below, own = _eliminated(block[:k], block[k:], pivots[group.first : group.last])
        front = np.empty((k + r, k + r))
        across = -(known @ below)
        front[:k, :k] = own - below.T @ across
        front[k:, :k], front[:k, k:], front[k:, k:] = across, across.T, known
        found[at] = front.take(in_front)
        return front


def _among_rows(group: _Group, within: Codes, fronts: dict[int, Matrix]) -> Matrix:
    if group.parent < 0:
        return np.empty((0, 0))
    found: Matrix = fronts[group.parent].take(within, axis=0).take(within, axis=1)
    return found


def _eliminated(root: Matrix, below: Matrix, pivots: Vector) -> tuple[Matrix, Matrix]:
    """``L_RJ L_JJ^-1`` and ``(L_JJ D_J L_JJ')^-1``."""
    if len(pivots) == 1:
        return below, np.array([[1.0 / pivots[0]]])
    if len(pivots) >= _MANY:
        across = scipy.linalg.blas.dtrsm(1.0, root, below, side=1, lower=1, diag=1)
        half = scipy.linalg.lapack.dpotri(root * np.sqrt(pivots), lower=1)[0]
        return across, half + np.tril(half, -1).T
    # What lies above the diagonal stays nothing, and the ones on it stay.
    inverse = scipy.linalg.lapack.dtrtri(root, lower=1, unitdiag=1)[0]
    return below @ inverse, (inverse.T / pivots) @ inverse


@cache
def _trapezoid(columns: int, rows: int) -> tuple[Codes, Codes]:
    """Places on and below the diagonal, column by column: in a block, and in a front.

    Both numbered row by row; a front has as many columns as rows.
    """
    column, row = trapezoid(columns, rows)
    return row * columns + column, row * rows + column


def _single(leaves: _Leaves, starts: Codes, lower: Vector, pivots: Vector, found: Vector) -> None:
    """Many single columns at once."""
    below = lower[leaves.below]
    across = -np.einsum("nij,nj->ni", found[leaves.among], below)
    found[leaves.below] = across
    own = 1.0 / pivots[leaves.columns] - np.einsum("ni,ni->n", below, across)
    found[starts[leaves.columns]] = own
