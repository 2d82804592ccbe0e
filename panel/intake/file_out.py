"""Rows to a CSV file or a workbook: whole or not at all, and every value reads back the same."""

from __future__ import annotations

import os
import re
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, time
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panel.errors import IntakeError
from panel.figures import in_digits, with_comma
from panel.intake.parts import number_text
from panel.intake.saved_records import Sheet
from panel.intake.table import clean, guard
from panel.store.places import FILE_MODE

if TYPE_CHECKING:
    from openpyxl.cell import Cell

WORKBOOKS = frozenset({".xlsx"})
OTHER_OFFICE = frozenset({".xls", ".xlsm", ".xlsb", ".ods", ".numbers"})
NEEDS_QUOTES = {sign: re.compile(rf'[{sign}"\n\r]') for sign in ",;"}
LOOKS_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
LONGEST_CELL = 32_767
ANYBODY = 0o666
"""What the account's own mask leaves of it is what a new file of theirs has."""
MOST_ROWS = 1_048_576
FIRST_SAFE_DAY = date(1900, 3, 1)
"""Workbooks count a 29 February 1900 that never was; days before it would come back one off."""
SHEET = "oakpanel"
DAY_FORMAT = "yyyy-mm-dd"


def write_sheet(
    sheet: Sheet, path: Path, *, force: bool, private: bool = False, comma: bool = False
) -> int:
    """Write a sheet to *path* by its ending; return the number of rows.

    A *private* one can be read by its owner only. With *comma* it is a CSV file of a house that
    writes decimals so: semicolons stand between its cells.

    Raises
    ------
    IntakeError
        A file is there already and *force* was not given; the place cannot be written; a value
        does not fit into a workbook. No half-written file stays.
    """
    with whole_file(path, force=force, private=private) as part:
        if is_workbook(path):
            return _write_workbook(sheet, part)
        return _write_csv(sheet, part, comma=comma)


def is_workbook(path: Path) -> bool:
    """Whether a file of this name is a workbook."""
    return path.suffix.casefold() in WORKBOOKS


def _refuse_place(path: Path, *, force: bool) -> None:
    ending = path.suffix.casefold()
    if ending in OTHER_OFFICE:
        raise IntakeError(f"Files ending in {ending} are not written: take .csv or .xlsx.")
    if path.exists() and (path.is_dir() or not force):
        also = "" if path.is_dir() else ", or --force to replace it"
        raise IntakeError(f"{path} is there already; nothing was written. Take another name{also}.")


@contextmanager
def whole_file(path: Path, *, force: bool, private: bool = False) -> Iterator[Path]:
    """Give an empty file beside *path*; what is written into it takes its place at the end.

    Raises
    ------
    IntakeError
        A file is there already and *force* was not given; the place cannot be written.
    """
    _refuse_place(path, force=force)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    mode = FILE_MODE if private else ANYBODY
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode))
        yield part
        os.replace(part, path)
    except OSError as error:
        raise IntakeError(f"{path} cannot be written: {error.strerror or error}.") from error
    finally:
        part.unlink(missing_ok=True)


def _write_csv(sheet: Sheet, path: Path, *, comma: bool) -> int:
    # By type first: True, 1 and 1.0 are one key, and so are a choice and its text.
    by_type: dict[type, _CsvCells] = defaultdict(partial(_CsvCells, comma=comma))
    sign = ";" if comma else ","
    written = 0
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(sign.join(by_type[str][heading] for heading in sheet.headings) + "\n")
        for values in sheet.rows:
            file.write(sign.join([by_type[type(value)][value] for value in values]) + "\n")
            written += 1
        file.flush()
        os.fsync(file.fileno())
    return written


class _CsvCells(dict[Any, str]):
    """The text of each distinct value; a file repeats most of them."""

    def __init__(self, *, comma: bool) -> None:
        super().__init__()
        self.comma, self.needs_quotes = comma, NEEDS_QUOTES[";" if comma else ","]

    def __missing__(self, value: Any) -> str:
        text = cell_text(value)
        if self.comma and isinstance(value, float):
            text = with_comma(text)
        if self.needs_quotes.search(text):
            doubled = text.replace('"', '""')
            text = f'"{doubled}"'
        self[value] = text
        return text


def cell_text(value: Any) -> str:
    """Return a value as a CSV cell holds it, before quotes."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return number_text(float(value))
    if isinstance(value, date):
        return value.isoformat()
    return guard(clean_out(str(value.value if isinstance(value, StrEnum) else value)))


def clean_out(text: str) -> str:
    """Return a text as reading would leave it, so that a second round changes nothing."""
    guarded = guard(text.strip())
    return clean(guarded)


def _write_workbook(sheet: Sheet, path: Path) -> int:
    from openpyxl import Workbook

    # Looked through first: the library cannot give up a sheet it has begun to write.
    rows = [[_fit(value) for value in values] for values in sheet.rows]
    if len(rows) >= MOST_ROWS:
        raise IntakeError(
            f"A workbook holds {in_digits(MOST_ROWS, ',')} rows; save as .csv instead."
        )
    book = Workbook(write_only=True)
    page = book.create_sheet(SHEET)
    page.append([_text_cell(page, _fit(heading)) for heading in sheet.headings])
    for values in rows:
        page.append([_cell(page, value) for value in values])
    book.save(path)
    return len(rows)


def _fit(value: Any) -> Any:
    """Return a number, a day a workbook can count, or the text of anything else."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    if value is None or (isinstance(value, int | float) and not isinstance(value, bool)):
        return value
    if isinstance(value, date) and value >= FIRST_SAFE_DAY:
        return value
    text = cell_text(value)
    if len(text) > LONGEST_CELL:
        raise IntakeError(
            f"A text of {in_digits(len(text), ',')} characters does not fit into a workbook cell."
        )
    if ILLEGAL_CHARACTERS_RE.search(text):
        raise IntakeError(f"{text[:40]!r} has a sign no workbook can hold: save as .csv.")
    return LOOKS_ESCAPED.sub("_x005F_", text)


def _cell(page: Any, value: Any) -> Cell | None:
    if value is None:
        return None
    if isinstance(value, int | float):
        return _number_cell(page, float(value))
    return _day_cell(page, value) if isinstance(value, date) else _text_cell(page, value)


def _number_cell(page: Any, number: float) -> Cell:
    from openpyxl.cell import WriteOnlyCell

    # As text with a number's type: the library itself keeps only 16 digits.
    cell: Cell = WriteOnlyCell(page, value=number_text(number))
    cell.data_type = "n"
    return cell


def _day_cell(page: Any, day: date) -> Cell:
    from openpyxl.cell import WriteOnlyCell

    cell: Cell = WriteOnlyCell(page, value=datetime.combine(day, time()))
    cell.number_format = DAY_FORMAT
    return cell


def _text_cell(page: Any, text: str) -> Cell:
    from openpyxl.cell import WriteOnlyCell

    cell: Cell = WriteOnlyCell(page, value=text)
    cell.data_type = "s"
    return cell
