"""Bytes of a CSV file to a table: encoding, separator and quotes told apart or refused."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Iterator

from panel.intake.table import MOST_CELLS, MOST_COLUMNS, Cleaner, Marks, Row, Table
from panel.problems import Problem

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
AS_UTF8 = "save it again as 'CSV UTF-8'"


class Unreadable(Exception):
    """The file cannot be taken apart at all; carries the one fault that says why."""

    def __init__(self, file: str, message: str, *, row: int = 0, value: str = "") -> None:
        super().__init__(message)
        self.problem = Problem(file, row, "", value, message)


def read_csv(data: bytes, file: str, known: Collection[str]) -> tuple[Table, list[Problem]]:
    """Return the table of a CSV file and the faults of its shape.

    *known* are the headings that may be expected: they tell the separator where quotes, commas in
    names or a single column would leave it open.

    Raises
    ------
    Unreadable
        Another encoding, no rows, mixed separators, a quotation mark that is never closed, a text
        of a length that no record has.
    """
    text, named = _take_separator_line(_decode(data, file))
    heading_line = next((line for line in text.splitlines() if line.strip()), "")
    if not heading_line:
        raise Unreadable(file, "the file is empty: it wants a row of headings and rows below it")
    separator = named or find_separator(heading_line, known, file)
    records = _records(text, separator, file, first=2 if named else 1)
    marks = Marks.POINT if separator == "," else Marks.EITHER
    return table_of(records, file, marks)


def find_separator(heading_line: str, known: Collection[str], file: str) -> str:
    """Return what stands between the headings: the sign that gives the most known ones."""
    found = {sign: _split(heading_line, sign) for sign in SEPARATORS}
    hits = {sign: sum(_plain(cell) in known for cell in cells) for sign, cells in found.items()}
    best = sorted(SEPARATORS, key=lambda sign: (-hits[sign], -len(found[sign])))
    first, second = best[0], best[1]
    if hits[first] and hits[first] == hits[second] and len(found[second]) > 1:
        raise Unreadable(
            file,
            f"the headings stand between {SEPARATORS[first]}s and {SEPARATORS[second]}s: "
            "use one of them throughout",
            row=1,
            value=heading_line[:80],
        )
    return first


def table_of(
    records: Iterator[tuple[int, list[str]]], file: str, marks: Marks
) -> tuple[Table, list[Problem]]:
    """Return the table of *records* (row number, raw cells), and the rows of a wrong length."""
    cells = Cleaner()
    filled = ((number, row) for number, raw in records if any(row := [cells[cell] for cell in raw]))
    heading_row, headings = next(filled, (0, []))
    while headings and not headings[-1]:
        headings.pop()
    if not headings:
        raise Unreadable(file, "the file is empty: it wants a row of headings and rows below it")
    if len(headings) > MOST_COLUMNS:
        raise Unreadable(
            file,
            f"there are {len(headings):,} headings; at most {MOST_COLUMNS:,} columns are read",
            row=heading_row,
        )
    rows, problems = _even_rows(_no_more(filled, file), headings, file)
    return Table(file, tuple(headings), heading_row, rows, marks), problems


def _no_more(
    records: Iterator[tuple[int, list[str]]], file: str
) -> Iterator[tuple[int, list[str]]]:
    """Give the rows as long as they are not more than a table may hold."""
    cells = 0
    for number, row in records:
        cells += len(row)
        if cells > MOST_CELLS:
            words = f"the file has over {MOST_CELLS:,} cells: load it in parts"
            raise Unreadable(file, words, row=number)
        yield number, row


def _even_rows(
    filled: Iterator[tuple[int, list[str]]], headings: list[str], file: str
) -> tuple[list[Row], list[Problem]]:
    width, rows, problems = len(headings), [], []
    for number, row in filled:
        if len(row) == width:
            rows.append(Row(number, row))
        elif len(row) > width and not any(row[width:]):
            rows.append(Row(number, row[:width]))
        else:
            problems.append(_uneven(file, number, row, width))
    return rows, problems


def _uneven(file: str, number: int, row: list[str], width: int) -> Problem:
    if len(row) > width:
        message = (
            f"the row has {len(row)} cells, the headings are {width}: put a text with the "
            'separator in it in "quotation marks", and write decimals with a point'
        )
        return Problem(file, number, "", row[width], message)
    message = f"the row has {len(row)} cells, the headings are {width}: empty cells count too"
    return Problem(file, number, "", row[-1], message)


def _decode(data: bytes, file: str) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in data[:4096]:
        raise Unreadable(file, f"the file is in UTF-16 or is no text: {AS_UTF8}")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        byte = data[error.start]
        seen = bytes([byte]).decode("cp1252", errors="replace")
        raise Unreadable(
            file,
            f"byte 0x{byte:02X} is not UTF-8 (in Windows-1252 it would be {seen!r}): {AS_UTF8}",
            row=line,
        ) from None


def _take_separator_line(text: str) -> tuple[str, str | None]:
    # A spreadsheet's own hint, `sep=;` alone on the first line.
    first, _, rest = text.partition("\n")
    hint = first.strip().strip('"')
    if len(hint) == 5 and hint.startswith("sep=") and hint[4] in SEPARATORS:
        return rest, hint[4]
    return text, None


def _records(text: str, separator: str, file: str, first: int) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = first - 1
    try:
        for number, record in enumerate(reader, start=first):
            yield number, record
    except csv.Error as error:
        raise Unreadable(file, _said(error), row=number + 1) from None


def _said(error: csv.Error) -> str:
    if "expected after" in str(error):
        return (
            "after the closing quotation mark comes more text: a quotation mark inside a quoted "
            'text is written twice, ""'
        )
    if "field limit" in str(error):
        return (
            f"a text in this row is longer than {csv.field_size_limit():,} characters, the most "
            "that is read: shorten it, or close the quotation mark that it begins with"
        )
    if "unexpected end" in str(error):
        return "a quotation mark opens in this row and is never closed"
    return f"the row cannot be taken apart ({error}): {AS_UTF8}"


def _split(line: str, separator: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=separator, strict=True))
    except csv.Error:
        return [line]


def _plain(heading: str) -> str:
    from panel.intake.columns import plain_heading

    return plain_heading(heading.strip())
