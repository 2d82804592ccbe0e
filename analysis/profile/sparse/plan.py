"""What the rounds of a sparse fit share: the places of all tables, and the ordering of the rows."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import scipy.sparse

from ...array_types import Codes, Matrix, Vector
from ..layout import ModelLayout
from .factor import Ordering
from .inverse import Places
from .pattern import Pattern


class Plan:
    """Everything about a house that does not change from round to round.

    Attributes
    ----------
    pattern
        Which unknowns meet.
    ordering, places
        Of the local ones in their factor.
    entry
        Place in the factor of each entry of the local matrix.
    """

    def __init__(self, layout: ModelLayout, terms: tuple[str, ...]) -> None:
        self.pattern = pattern = Pattern(layout, terms)
        self.ordering = Ordering(pattern.row, pattern.column, pattern.size)
        self.places = Places(self.ordering)
        self.entry = self.ordering.slots(pattern.row, pattern.column)
        self._table_of_meetings()
        self._table_of_links()
        self._table_of_samples()

    @property
    def n_unknowns(self) -> int:
        """Local ones and those of the border."""
        return self.pattern.size + self.pattern.width

    def _table_of_meetings(self) -> None:
        pat = self.pattern
        local = np.where(pat.local < pat.size, pat.local, self.n_unknowns)
        columns = np.concatenate([local, pat.border + pat.size], axis=1).ravel()
        self._real = np.flatnonzero(columns < self.n_unknowns)
        rows = np.repeat(np.arange(len(pat.local)), 8)[self._real]
        shape = (len(pat.local), self.n_unknowns)
        self._meetings = _Table(rows, columns[self._real], shape)

    def meetings(self, values: Matrix) -> scipy.sparse.csr_matrix:
        """Meetings by unknowns; values of the four local ones, then of the four of the border."""
        return self._meetings.filled(values.ravel()[self._real])

    def _table_of_links(self) -> None:
        pat, n = self.pattern, len(self.pattern.local)
        a, b = pat.a[n:], pat.b[n:]
        rows, columns = np.concatenate([pat.a, b]), np.concatenate([pat.b, a])
        self._links = _Table(rows, columns, (n, n))

    def between(self, by_link: Vector) -> scipy.sparse.csr_matrix:
        """One number a link as a table, meetings by meetings."""
        n = len(self.pattern.local)
        return self._links.filled(np.concatenate([by_link, by_link[n:]]))

    def _table_of_samples(self) -> None:
        pat, g = self.pattern, self.pattern.layout.glasses
        own = np.where(pat.much, pat.of_much + pat.size, pat.of_sample)
        filling = pat.of_filling[g.filling]
        each = np.arange(g.n_samples)
        self._several = np.flatnonzero(filling >= 0)
        rows = np.concatenate([each, self._several])
        columns = np.concatenate([own, filling[self._several]])
        self._samples = _Table(rows, columns, (g.n_samples, self.n_unknowns))
        self.own, self.filling = own, filling

    def samples(self, own_sd: Vector, filling_sd: float) -> scipy.sparse.csr_matrix:
        """Samples, not yet about their mean, by unknowns."""
        shared = np.full(len(self._several), filling_sd)
        return self._samples.filled(np.concatenate([own_sd, shared]))

    def mean(self, own_sd: Vector, filling_sd: float) -> Vector:
        """Mean of the samples by unknown."""
        table = self.samples(own_sd, filling_sd)
        found: Vector = np.asarray(table.sum(axis=0)).ravel() / table.shape[0]
        return found


class _Table:
    """Places of a table, filled over and over."""

    def __init__(self, row: Codes, column: Codes, shape: tuple[int, int]) -> None:
        self._order = np.lexsort((column, row))
        self._columns = column[self._order].astype(np.int32)
        starts = np.concatenate([[0], np.cumsum(np.bincount(row, minlength=shape[0]))])
        self._starts, self._shape = starts.astype(np.int32), shape

    def filled(self, values: Vector) -> scipy.sparse.csr_matrix:
        """The table with these values, in the order in which the places were given."""
        data = (values[self._order], self._columns, self._starts)
        return scipy.sparse.csr_matrix(data, shape=self._shape)


@lru_cache(maxsize=4)
def plan_of(layout: ModelLayout, terms: tuple[str, ...]) -> Plan:
    """The plan of a layout; descriptors that were scored on the same glasses share it."""
    return Plan(layout, terms)
