"""Who nosed what and when, as codes; every product of a fit is summed along these.

A *block* is one assessor in one session, a *cell* one assessor on one sample, a *meeting* one
cell in one block: the glasses of a meeting are replicates. Blocks and cells are sorted by
assessor, so those of one assessor lie together.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse
from numpy.typing import NDArray

from ..array_types import Codes, Matrix, Vector


@dataclass(frozen=True, eq=False)
class Glasses:
    """Scored glasses as codes, each from 0 without gaps; `filling` has one code a sample.

    Descriptors that were scored on the same glasses share one of these, and so its layout.
    """

    session: Codes
    assessor: Codes
    sample: Codes
    filling: Codes

    def __reduce__(self) -> tuple[type[Glasses], tuple[Codes, ...]]:
        """Travel without the layout."""
        return Glasses, (self.session, self.assessor, self.sample, self.filling)

    @property
    def n(self) -> int:
        """Number of glasses."""
        return len(self.sample)

    @cached_property
    def layout(self) -> ModelLayout:
        """Their blocks, cells and meetings."""
        return ModelLayout(self)

    @cached_property
    def n_samples(self) -> int:
        """Number of samples."""
        return int(self.sample.max()) + 1

    @cached_property
    def n_assessors(self) -> int:
        """Number of assessors."""
        return int(self.assessor.max()) + 1

    @cached_property
    def n_sessions(self) -> int:
        """Number of sessions."""
        return int(self.session.max()) + 1


@dataclass(frozen=True)
class Assessor:
    """Where the blocks, cells and meetings of one assessor lie."""

    blocks: slice
    cells: slice
    meetings: slice
    sessions: Codes


@dataclass(frozen=True)
class _Tables:
    """Places of an assessor's meetings, sorted by row."""

    by_cell: scipy.sparse.csr_matrix
    by_sample: scipy.sparse.csr_matrix


@dataclass(frozen=True)
class Session:
    """Who and what met in one session; `places` of its meetings in a table samples by blocks."""

    blocks: Codes
    samples: Codes
    meetings: Codes
    places: Codes

    def table(self, values: Vector) -> Matrix:
        """One number a meeting of the layout as a table, samples by blocks."""
        found = np.zeros(len(self.samples) * len(self.blocks), values.dtype)
        found[self.places] = values[self.meetings]
        return found.reshape(len(self.samples), len(self.blocks))

    def gather(self, table: Matrix) -> Vector:
        """The numbers of its meetings, from a table samples by blocks."""
        found: Vector = table.ravel()[self.places]
        return found


class ModelLayout:
    """Glasses with their blocks, cells and meetings.

    Attributes
    ----------
    block, cell, meeting
        Code of each glass.
    block_assessor, block_session
        Of each block.
    cell_assessor, cell_sample
        Of each cell.
    meeting_cell, meeting_block, meeting_sample, meeting_assessor
        Of each meeting.
    """

    def __init__(self, glasses: Glasses) -> None:
        self.glasses = glasses
        a, s, i = glasses.assessor, glasses.session, glasses.sample
        blocks, self.block = _codes(a.astype(np.int64) * glasses.n_sessions + s)
        self.block_assessor, self.block_session = _apart(blocks, glasses.n_sessions)
        cells, self.cell = _codes(a.astype(np.int64) * glasses.n_samples + i)
        self.cell_assessor, self.cell_sample = _apart(cells, glasses.n_samples)
        self.n_blocks, self.n_cells = len(blocks), len(cells)
        meetings, self.meeting = _codes(self.cell.astype(np.int64) * self.n_blocks + self.block)
        self.meeting_cell, self.meeting_block = _apart(meetings, self.n_blocks)
        self.meeting_sample = self.cell_sample[self.meeting_cell]
        self.meeting_assessor = self.cell_assessor[self.meeting_cell]
        self.n_meetings = len(meetings)

    @cached_property
    def assessors(self) -> tuple[Assessor, ...]:
        """One entry an assessor."""
        each = np.arange(self.glasses.n_assessors + 1)
        b = np.searchsorted(self.block_assessor, each)
        c = np.searchsorted(self.cell_assessor, each)
        m = np.searchsorted(self.meeting_assessor, each)
        return tuple(
            Assessor(
                slice(int(b[j]), int(b[j + 1])),
                slice(int(c[j]), int(c[j + 1])),
                slice(int(m[j]), int(m[j + 1])),
                self.block_session[b[j] : b[j + 1]],
            )
            for j in each[:-1]
        )

    @cached_property
    def block_counts(self) -> Vector:
        """Blocks of each assessor."""
        return np.bincount(self.block_assessor, minlength=self.glasses.n_assessors).astype(float)

    def by_cell(self, j: int, values: Vector) -> scipy.sparse.csr_matrix:
        """One number a meeting of assessor `j` as a table, his cells by his blocks."""
        return _filled(self._tables[j].by_cell, values)

    def by_sample(self, j: int, values: Vector) -> scipy.sparse.csr_matrix:
        """One number a meeting of assessor `j` as a table, all samples by his blocks."""
        return _filled(self._tables[j].by_sample, values)

    def by_block(self, values: Vector) -> scipy.sparse.csr_matrix:
        """One number a meeting as a table, all blocks by all samples."""
        order, table = self._by_block
        return _filled(table, values[order])

    @cached_property
    def over_sessions(self) -> scipy.sparse.csr_matrix:
        """Sessions by blocks, of ones: sums of blocks over each session."""
        order = np.argsort(self.block_session, kind="stable")
        shape = (self.glasses.n_sessions, self.n_blocks)
        return _filled(_empty(self.block_session[order], order, shape), np.ones(self.n_blocks))

    @cached_property
    def _tables(self) -> tuple[_Tables, ...]:
        found = []
        for at in self.assessors:
            block = self.meeting_block[at.meetings] - at.blocks.start
            cell = self.meeting_cell[at.meetings] - at.cells.start
            sample = self.meeting_sample[at.meetings]
            n_cells, width = at.cells.stop - at.cells.start, len(at.sessions)
            found.append(
                _Tables(
                    _empty(cell, block, (n_cells, width)),
                    _empty(sample, block, (self.glasses.n_samples, width)),
                )
            )
        return tuple(found)

    @cached_property
    def _by_block(self) -> tuple[Codes, scipy.sparse.csr_matrix]:
        order = np.argsort(self.meeting_block, kind="stable")
        shape = (self.n_blocks, self.glasses.n_samples)
        return order, _empty(self.meeting_block[order], self.meeting_sample[order], shape)

    @cached_property
    def sessions(self) -> tuple[Session, ...]:
        """One entry a session."""
        n, width = self.glasses.n_sessions, self.glasses.n_samples
        session = self.block_session[self.meeting_block]
        blocks, column = _ranked(self.block_session, n)
        pairs, pair = _codes(session.astype(np.int64) * width + self.meeting_sample)
        pair_session, pair_sample = _apart(pairs, width)
        starts = _starts(pair_session, n)
        widths = np.bincount(self.block_session, minlength=n)
        places = (pair - starts[session]) * widths[session] + column[self.meeting_block]
        meetings, _ = _ranked(session, n)
        samples = np.split(pair_sample, starts[1:-1])
        return tuple(
            Session(block, sample, meeting, places[meeting])
            for block, sample, meeting in zip(blocks, samples, meetings, strict=True)
        )


def _codes(keys: NDArray[np.int64]) -> tuple[NDArray[np.int64], Codes]:
    values, codes = np.unique(keys, return_inverse=True)
    return values, codes.astype(np.intp)


def _apart(keys: NDArray[np.int64], width: int) -> tuple[Codes, Codes]:
    return (keys // width).astype(np.intp), (keys % width).astype(np.intp)


def _starts(codes: Codes, size: int) -> Codes:
    """Where each code starts among sorted ones, and where the last one ends."""
    found: Codes = np.searchsorted(codes, np.arange(size + 1)).astype(np.intp)
    return found


def _ranked(codes: Codes, size: int) -> tuple[list[Codes], Codes]:
    """Members of each code, and the place of each member among those of its code."""
    order = np.argsort(codes, kind="stable")
    starts = _starts(codes[order], size)
    place = np.empty_like(order)
    place[order] = np.arange(len(order)) - starts[codes[order]]
    return np.split(order, starts[1:-1]), place


def _empty(row: Codes, column: Codes, shape: tuple[int, int]) -> scipy.sparse.csr_matrix:
    """A table of zeros at given places, sorted by row."""
    places = (np.zeros(len(row)), column.astype(np.int32), _starts(row, shape[0]).astype(np.int32))
    return scipy.sparse.csr_matrix(places, shape=shape)


def _filled(table: scipy.sparse.csr_matrix, values: Vector) -> scipy.sparse.csr_matrix:
    """The same places with other numbers; building it anew would check them every time."""
    found = object.__new__(type(table))
    found.__dict__.update(table.__dict__)
    found.data = values
    return found


def sums(codes: Codes, values: NDArray[np.generic], size: int) -> Vector:
    """Sum values by code, codes 0 to size - 1."""
    found: Vector = np.bincount(codes, values, size)  # type: ignore[assignment]
    return found
