"""An Excel workbook to a table. Error values and uncomputed formulas are told from blanks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from panel.intake.book import read_book
from panel.intake.container import Container, Damaged, in_words
from panel.intake.csv_text import Unreadable, table_of
from panel.intake.headings import Finder
from panel.intake.sheet import Row, read_rows
from panel.intake.table import Marks, Table
from panel.problems import Problem, with_way


def read_workbook(
    data: bytes, file: str, kind: str, sheet: str | None, find: Finder
) -> tuple[Table, list[Problem]]:
    """Return the table of one sheet of an .xlsx workbook and the faults of its shape.

    Raises
    ------
    Unreadable
        No such sheet, several sheets to choose from, a workbook that is damaged, protected, or
        larger than any table of ours.
    """
    try:
        container = Container(data)
        with in_words():
            book = read_book(container)
        name = choose_sheet(list(book.sheets), file, kind, sheet)
        rows = _in_words(read_rows(container, book.sheets[name], book))
        return table_of(rows, file, Marks.EITHER, find, even=False)
    except Damaged as refusal:
        raise Unreadable(file, str(refusal)) from refusal


def choose_sheet(names: list[str], file: str, kind: str, sheet: str | None) -> str:
    """Return the sheet that was named, the one called as the kind, or the only one."""
    listed = ", ".join(names)
    if sheet is not None:
        if sheet not in names:
            raise Unreadable(file, f"there is no sheet {sheet!r}; there are: {listed}")
        return sheet
    if len(names) == 1:
        return names[0]
    alike = [name for name in names if name.casefold() == kind]
    if len(alike) != 1:
        wrong = f"the workbook has the sheets {listed}: "
        option, field = (
            "name one with --sheet",
            "name one under Sheet in the form of one file",
        )
        raise Unreadable(file, with_way(wrong, option=option, at_desk=field))
    return alike[0]


def _in_words(rows: Iterable[Row]) -> Iterator[Row]:
    """Give the rows; what is damaged is said in words."""
    with in_words():
        yield from rows
