"""Bytes of a CSV file to a table: encoding, separator and quotes told apart or refused."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import chain, islice

from panel.figures import in_digits
from panel.intake.columns import plain_heading
from panel.intake.headings import LOOKED_AT, Finder
from panel.intake.letters import AS_UTF8, Letters, differing, first_odd_byte, in_utf8, readings
from panel.intake.table import MOST_CELLS, MOST_COLUMNS, Cleaner, Marks, Row, Table
from panel.problems import Problem, with_way

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
EMPTY = "the file is empty: it wants a row of headings and rows below it"
TOP = 200_000
"""Signs at the beginning of a file among whose lines the headings are looked for."""


class Unreadable(Exception):
    """The file cannot be taken apart at all; carries the one fault that says why."""

    def __init__(self, file: str, message: str, *, row: int = 0, value: str = "") -> None:
        super().__init__(message)
        self.problem = Problem(file, row, "", value, message)


def read_csv(
    data: bytes, file: str, find: Finder, wanted: Letters | None = None
) -> tuple[Table, list[Problem]]:
    """Return the table of a CSV file and the faults of its shape.

    *find* knows the headings that may be expected: they tell the row of headings, and the
    separator where quotes, commas in names or a single column would leave it open; and, where
    they were not said, the letters of a file that is not UTF-8.

    Raises
    ------
    Unreadable
        Other letters, no rows, mixed separators, a quotation mark that is never closed, a text
        of a length that no record has.
    """
    decoded, letters = _decode(data, file, find, wanted)
    text, named = _take_separator_line(decoded)
    lines = top_lines(text)
    if not lines:
        raise Unreadable(file, EMPTY)
    separator = named or _separator(lines, find, file)
    records = _records(text, separator, file, first=2 if named else 1)
    marks = Marks.POINT if separator == "," else Marks.EITHER
    table, problems = table_of(records, file, marks, find)
    return replace(table, letters=letters), problems


def top_lines(text: str) -> list[str]:
    """Return the filled lines among which the headings stand."""
    return [line for line in text[:TOP].splitlines() if line.strip()][:LOOKED_AT]


def _separator(lines: Sequence[str], find: Finder, file: str) -> str:
    known = find.expected()
    whole = (line for line in lines if _holds(line, find))
    heading_line = next(whole, None) or next((line for line in lines if _hits(line, known)), None)
    return find_separator(heading_line, known, file) if heading_line else steadiest(lines)


def _holds(line: str, find: Finder) -> bool:
    return any(find.holds(_split(line, sign)) for sign in SEPARATORS)


def _hits(line: str, known: Collection[str]) -> bool:
    return any(_plain(cell) in known for sign in SEPARATORS for cell in _split(line, sign))


def steadiest(lines: Sequence[str]) -> str:
    """Return the sign that cuts most lines alike, where no heading is known."""

    def steady(sign: str) -> tuple[int, int]:
        counts = Counter(cells for line in lines if (cells := len(_split(line, sign))) > 1)
        cells, often = counts.most_common(1)[0] if counts else (0, 0)
        return often, cells

    return max(SEPARATORS, key=steady)


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
    records: Iterator[tuple[int, list[str]]],
    file: str,
    marks: Marks,
    find: Finder,
    *,
    even: bool = True,
) -> tuple[Table, list[Problem]]:
    """Return the table of *records* (row number, raw cells), and the rows of a wrong length.

    What stands above the headings is passed over. Where not *even*, a short row is one whose last
    cells are empty.
    """
    cells = Cleaner()
    filled = ((number, row) for number, raw in records if any(row := [cells[cell] for cell in raw]))
    top = list(islice(filled, LOOKED_AT))
    place = find.place_of(top)
    heading_row, headings = top[place] if top else (0, [])
    while headings and not headings[-1]:
        headings.pop()
    if not headings:
        raise Unreadable(file, EMPTY)
    if len(headings) > MOST_COLUMNS:
        raise Unreadable(
            file,
            f"there are {in_digits(len(headings), ',')} headings; at most "
            f"{in_digits(MOST_COLUMNS, ',')} columns are read",
            row=heading_row,
        )
    below = _no_more(chain(top[place + 1 :], filled), file)
    rows, problems = _even_rows(below, headings, file, even=even)
    return Table(file, tuple(headings), heading_row, rows, marks, above=place), problems


def _no_more(
    records: Iterator[tuple[int, list[str]]], file: str
) -> Iterator[tuple[int, list[str]]]:
    """Give the rows as long as they are not more than a table may hold."""
    cells = 0
    for number, row in records:
        cells += len(row)
        if cells > MOST_CELLS:
            words = f"the file has over {in_digits(MOST_CELLS, ',')} cells: load it in parts"
            raise Unreadable(file, words, row=number)
        yield number, row


def _even_rows(
    filled: Iterator[tuple[int, list[str]]], headings: list[str], file: str, *, even: bool
) -> tuple[list[Row], list[Problem]]:
    width, rows, problems = len(headings), [], []
    for number, row in filled:
        if len(row) == width:
            rows.append(Row(number, row))
        elif len(row) < width and not even:
            rows.append(Row(number, row + [""] * (width - len(row))))
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


def _decode(
    data: bytes, file: str, find: Finder, wanted: Letters | None
) -> tuple[str, Letters | None]:
    """Return the text, and the letters that it was written in where it is not UTF-8."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in data[:4096]:
        raise Unreadable(file, f"the file is in UTF-16 or is no text: {AS_UTF8}")
    text = in_utf8(data)
    if text is not None:
        return text, None
    found = readings(data, wanted)
    if len(found) > 1:
        found = _with_headings(found, find) or found
    if len(found) == 1:
        return next((text, letters) for letters, text in found.items())
    raise Unreadable(file, _no_letters(data, found, wanted), row=first_odd_byte(data)[0])


def _with_headings(found: dict[Letters, str], find: Finder) -> dict[Letters, str]:
    """Return the readings in which a row has the headings that only files of such letters have."""
    return {
        letters: text
        for letters, text in found.items()
        if any(not line.isascii() and _holds(line, find) for line in top_lines(text))
    }


def _no_letters(data: bytes, found: dict[Letters, str], wanted: Letters | None) -> str:
    if found:
        return with_way(
            f"the file is not UTF-8, and could be read as {differing(found)}: say which ",
            option=f"with {' or '.join(f'--letters {letters}' for letters in found)}",
            at_desk="under Letters in the form of one file",
        )
    said = f", nor in {wanted} letters" if wanted else ""
    return f"{first_odd_byte(data)[1]}{said}: {AS_UTF8}"


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
            f"a text in this row is longer than {in_digits(csv.field_size_limit(), ',')} "
            "characters, the most "
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
    return plain_heading(heading.strip())
