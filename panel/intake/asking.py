"""What has to be asked of a file before it can be loaded: its headings, the order of its dates."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from panel.intake.columns import plain_heading
from panel.intake.kinds import Kind
from panel.intake.loading import columns_of, finder, read_file
from panel.intake.meanings import column_words
from panel.intake.reading import read_bytes, read_table
from panel.intake.report import LoadReport
from panel.intake.table import BrokenCell, Row, Table
from panel.unswept import unswept

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import datetime
    from pathlib import Path

    from panel.intake.columns import Columns
    from panel.intake.said import Said
    from panel.store.engine import Store

VALUES_SHOWN = 3


@dataclass(frozen=True)
class SeenHeading:
    """A heading of a file, what stands under it, and our column as far as it is known."""

    heading: str
    values: tuple[str, ...]
    column: str | None
    left_out: bool = False


@dataclass(frozen=True)
class OurColumn:
    """A column of ours, to be chosen from."""

    name: str
    words: str
    must: bool


@dataclass(frozen=True)
class Question:
    """What is asked of a file; nothing where it tells all itself."""

    kind: Kind
    file: str
    heading_row: int = 0
    headings: tuple[SeenHeading, ...] = ()
    columns: tuple[OurColumn, ...] = ()
    either: tuple[str, ...] = ()
    wanting: bool = False
    """Whether a column that must be there is not, or a heading is unknown."""
    may_score: bool = False
    """Whether a heading may be a word that is scored."""
    open_dates: Mapping[str, str] = field(default_factory=dict)

    def heading_of(self, column: str) -> str:
        """Return the file's heading of a column of ours, which may be the same."""
        return next((each.heading for each in self.headings if each.column == column), column)


def question_of(
    store: Store, kind: Kind, path: Path, *, now: datetime, sheet: str | None, said: Said
) -> Question:
    """Return what has to be asked of a file, after what was said of it already.

    Raises
    ------
    IntakeError
        The file cannot be read.
    """
    with store.read() as db, unswept():
        find = finder(db, kind, said)
        data = read_bytes(path)
        table, _ = read_table(data, path.name, kind, find, sheet, said.letters)
        checked = read_file(db, kind, path, now=now, sheet=sheet, said=said)
    if table is None:
        return Question(kind, path.name)
    report = checked if isinstance(checked, LoadReport) else checked.report
    columns = columns_of(kind, find.ours(table.headings))
    seen = tuple(_seen(table, find.own(table.headings), columns))
    unknown = any(each.column is None and not each.left_out for each in seen)
    return Question(
        *(kind, path.name, table.heading_row, seen, _our_columns(kind), columns_of(kind).either),
        wanting=not find.holds(table.headings) or (unknown and not columns.open),
        may_score=kind is Kind.SCORES,
        open_dates=report.open_dates,
    )


def _seen(table: Table, own: Mapping[str, str | None], columns: Columns) -> Iterator[SeenHeading]:
    for place, heading in enumerate(table.headings):
        if heading and not isinstance(heading, BrokenCell):
            values = _values(place, table.rows)
            left_out = own.get(plain_heading(heading), "") is None
            yield SeenHeading(heading, values, _ours(heading, own, columns), left_out)


def _values(place: int, rows: Sequence[Row]) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for row in rows:
        if row.cells[place]:
            found[row.cells[place]] = None
        if len(found) == VALUES_SHOWN:
            break
    return tuple(found)


def _ours(heading: str, own: Mapping[str, str | None], columns: Columns) -> str | None:
    plain = plain_heading(heading)
    if plain in own:
        return own[plain]
    return plain if plain in columns.known else None


def _our_columns(kind: Kind) -> tuple[OurColumn, ...]:
    columns = columns_of(kind)
    return tuple(
        OurColumn(name, column_words(kind, name), name in columns.required)
        for name in columns.known
    )
