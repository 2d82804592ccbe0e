"""In which row of a file the headings stand, and whose words they are."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum

from panel.intake.columns import Columns, plain_heading
from panel.intake.day_order import DayOrder

LOOKED_AT = 60
"""Filled rows at the top of a file among which the headings are looked for."""
Own = Mapping[str, str | None]
"""Our column by a file's own heading, as it is compared; None leaves the column out."""


@dataclass(frozen=True)
class Kept:
    """What was said once of files with one set of headings."""

    columns: Own = field(default_factory=dict)
    dates: Mapping[str, DayOrder] = field(default_factory=dict)


class Since(Enum):
    """Since when a thing of a file is known."""

    NOW = "now"
    """Said with this load."""
    BEFORE = "before"
    """Kept from an earlier file with the same headings."""


@dataclass(frozen=True)
class OwnHeading:
    """A heading of a file and the column of ours that stands under it."""

    heading: str
    column: str | None
    since: Since


Shape = frozenset[str]


def shape_of(cells: Sequence[str]) -> Shape:
    """Return the set of headings by which the next file of that shape is known."""
    return frozenset(plain for cell in cells if (plain := plain_heading(cell)))


@dataclass(frozen=True)
class Finder:
    """Finds the row of headings: the first that holds every column the kind must have."""

    columns_of: Callable[[Sequence[str]], Columns]
    given: Own = field(default_factory=dict)
    kept: Mapping[Shape, Kept] = field(default_factory=dict)
    row: int | None = None
    """The row that was pointed at, whatever it holds."""

    def own(self, cells: Sequence[str]) -> Own:
        """Return what the headings of a file of this shape mean."""
        before = self.kept.get(shape_of(cells))
        return {**before.columns, **self.given} if before else self.given

    def named(self, cells: Sequence[str]) -> list[OwnHeading]:
        """Return the headings in *cells* that mean a column of ours by what was said."""
        own = self.own(cells)
        return [
            OwnHeading(cell, own[plain], Since.NOW if plain in self.given else Since.BEFORE)
            for cell in cells
            if (plain := plain_heading(cell)) in own
        ]

    def ours(self, cells: Sequence[str]) -> list[str]:
        """Return the headings under our names; a column that is left out has none."""
        own = self.own(cells)
        return [own.get(plain_heading(cell), cell) or "" for cell in cells]

    def holds(self, cells: Sequence[str]) -> bool:
        """Whether a row holds every column that the kind must have."""
        there = {plain_heading(cell) for cell in self.ours(cells)}
        columns = self.columns_of(sorted(there))
        either = not columns.either or bool(there & set(columns.either))
        return either and there.issuperset(columns.required)

    def expected(self) -> Collection[str]:
        """Return the headings that may be met, as they are compared."""
        kept = (plain for shape in self.kept for plain in shape)
        return {*self.columns_of(()).known, *self.given, *kept}

    def place_of(self, rows: Sequence[tuple[int, Sequence[str]]]) -> int:
        """Return which of the first rows bears the headings.

        Where none holds what the kind must have, it is the one that comes nearest: the faults
        name it, and nothing is loaded.
        """
        if self.row is not None:
            pointed = (i for i, (number, _) in enumerate(rows) if number == self.row)
            return next(pointed, 0)
        whole = next((i for i, (_, cells) in enumerate(rows) if self.holds(cells)), None)
        if whole is None or self._is_a_record([cells for _, cells in rows[: whole + 1]]):
            return self._nearest(rows)
        return whole

    def _is_a_record(self, rows: Sequence[Sequence[str]]) -> bool:
        """Whether the last of the rows bears a word of ours by chance, as "assessor" for a role.

        A row above it is filled as widely, as no title is, and most of its own cells are no
        headings of ours.
        """
        *above, last = rows
        expected, filled = self.expected(), [sum(map(bool, cells)) for cells in rows]
        known = sum(plain_heading(cell) in expected for cell in last)
        return 2 * known < filled[-1] and any(count >= filled[-1] for count in filled[: len(above)])

    def _nearest(self, rows: Sequence[tuple[int, Sequence[str]]]) -> int:
        expected = self.expected()
        hits = [sum(plain_heading(cell) in expected for cell in cells) for _, cells in rows]
        if hits and max(hits) > 1:
            return hits.index(max(hits))
        filled = [sum(map(bool, cells)) for _, cells in rows]
        return next((i for i, count in enumerate(filled) if count * 2 >= max(filled)), 0)
