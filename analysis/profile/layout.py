"""Who nosed what and when, as codes; every product of a fit is summed along these.

A *block* is one assessor in one session, a *cell* one assessor on one sample, a *meeting* one
cell in one block: the glasses of a meeting are replicates. Blocks and cells are sorted by
assessor, so those of one assessor lie together.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]
Codes = NDArray[np.intp]


@dataclass(frozen=True)
class Glasses:
    """Scored glasses as codes, each from 0 without gaps; `filling` has one code a sample."""

    session: Codes
    assessor: Codes
    sample: Codes
    filling: Codes

    @property
    def n(self) -> int:
        """Number of glasses."""
        return len(self.sample)

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
class _Places:
    """Where the meetings of an assessor stand in his tables, read row by row."""

    by_cell: Codes
    by_sample: Codes


class Layout:
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

    def cells_by_blocks(self, j: int, values: Vector) -> Matrix:
        """One number a meeting of assessor `j` as a table, his cells by his blocks."""
        at, places = self.assessors[j], self._places[j]
        shape = (at.cells.stop - at.cells.start, len(at.sessions))
        return _table(places.by_cell, values, shape)

    def samples_by_blocks(self, j: int, values: Vector) -> Matrix:
        """One number a meeting of assessor `j` as a table, all samples by his blocks."""
        shape = (self.glasses.n_samples, len(self.assessors[j].sessions))
        return _table(self._places[j].by_sample, values, shape)

    @cached_property
    def _places(self) -> tuple[_Places, ...]:
        found = []
        for at in self.assessors:
            width = len(at.sessions)
            block = self.meeting_block[at.meetings] - at.blocks.start
            cell = self.meeting_cell[at.meetings] - at.cells.start
            sample = self.meeting_sample[at.meetings]
            found.append(_Places(cell * width + block, sample * width + block))
        return tuple(found)


def _codes(keys: NDArray[np.int64]) -> tuple[NDArray[np.int64], Codes]:
    values, codes = np.unique(keys, return_inverse=True)
    return values, codes.astype(np.intp)


def _apart(keys: NDArray[np.int64], width: int) -> tuple[Codes, Codes]:
    return (keys // width).astype(np.intp), (keys % width).astype(np.intp)


def _table(places: Codes, values: Vector, shape: tuple[int, int]) -> Matrix:
    """Spread numbers over a table of zeros; no two of them share a place."""
    found = np.zeros(shape[0] * shape[1])
    found[places] = values
    return found.reshape(shape)


def sums(codes: Codes, values: NDArray[np.generic], size: int) -> Vector:
    """Sum values by code, codes 0 to size - 1."""
    found: Vector = np.bincount(codes, values, size)  # type: ignore[assignment]
    return found
