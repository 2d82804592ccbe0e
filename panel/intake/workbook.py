"""An Excel workbook to a table. Error values and uncomputed formulas are told from blanks."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from posixpath import join, normpath
from typing import Any
from xml.etree import ElementTree

from panel.intake.csv_text import Unreadable, table_of
from panel.intake.table import BrokenCell, Marks, Table, TypedNumber
from panel.problems import Problem

CELL = re.compile(rb"<(?:\w+:)?c\b(?P<head>[^>]*)>(?P<body>.*?)</(?:\w+:)?c>", re.DOTALL)
PLACE = re.compile(rb'\br="([A-Z]+)([0-9]+)"')
ERROR = re.compile(rb'\bt="e"')
FORMULA = re.compile(rb"<(?:\w+:)?f\b")
VALUE = re.compile(rb"<(?:\w+:)?v\b[^>]*>([^<]+)</")
RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
LARGEST_EXACT = 1e15
MIDNIGHT = time()


def read_workbook(
    data: bytes, file: str, kind: str, sheet: str | None
) -> tuple[Table, list[Problem]]:
    """Return the table of one sheet of an .xlsx workbook and the faults of its shape.

    Raises
    ------
    Unreadable
        No such sheet, several sheets to choose from, a damaged or protected workbook.
    """
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            paths = _sheet_paths(parts)
            name = choose_sheet(list(paths), file, kind, sheet)
            broken = find_broken(parts.read(paths[name]))
        values = CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_name(name)
        rows = values.to_python(skip_empty_area=False)
    except (zipfile.BadZipFile, KeyError, CalamineError, ElementTree.ParseError) as error:
        raise Unreadable(
            file, f"the workbook cannot be read ({error}): save it again as .xlsx or CSV UTF-8"
        ) from error
    return table_of(_records(rows, broken), file, Marks.EITHER)


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
        raise Unreadable(file, f"the workbook has the sheets {listed}: name one with --sheet")
    return alike[0]


def find_broken(sheet_xml: bytes) -> dict[tuple[int, int], BrokenCell]:
    """Return the cells (row, column from 0) that hold an error or a formula without a value."""
    if not ERROR.search(sheet_xml) and not FORMULA.search(sheet_xml):
        return {}
    found = {}
    for cell in CELL.finditer(sheet_xml):
        place, broken = PLACE.search(cell["head"]), _broken(cell["head"], cell["body"])
        if place is not None and broken is not None:
            found[int(place[2]), _column_number(place[1])] = broken
    return found


def _broken(head: bytes, body: bytes) -> BrokenCell | None:
    value = VALUE.search(body)
    if ERROR.search(head):
        text = value[1].decode() if value else "an error"
        return _cell(text, "the workbook has an error here: mend its formula or type the value")
    if FORMULA.search(body) and value is None:
        words = "a formula that was never computed: open the workbook in its program and save it"
        return _cell("formula", words)
    return None


def _cell(text: str, words: str) -> BrokenCell:
    cell = BrokenCell(text)
    cell.words = words
    return cell


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number - 1


def _sheet_paths(parts: zipfile.ZipFile) -> dict[str, str]:
    """Return where each sheet of values lies in the archive, in the workbook's order."""
    relations = ElementTree.fromstring(parts.read("xl/_rels/workbook.xml.rels"))
    targets = {item.get("Id"): item.get("Target", "") for item in relations}
    book = ElementTree.fromstring(parts.read("xl/workbook.xml"))
    sheets = [item for item in book.iter() if item.tag.endswith("}sheet")]
    return {
        sheet.get("name", ""): normpath(join("xl", targets[sheet.get(RELATION)])).lstrip("/")
        for sheet in sheets
        if "worksheet" in targets.get(sheet.get(RELATION), "")
    }


def _records(
    rows: list[list[Any]], broken: dict[tuple[int, int], BrokenCell]
) -> Iterator[tuple[int, list[str]]]:
    for number, row in enumerate(rows, start=1):
        cells = [cell_text(value) for value in row]
        if broken:
            cells = [broken.get((number, i), cell) for i, cell in enumerate(cells)]
        yield number, cells


def cell_text(value: object) -> str:
    """Return a workbook's value as text: dates in ISO, whole numbers without a point."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number_text(float(value))
    if isinstance(value, datetime):
        return str(value.date() if value.time() == MIDNIGHT else value)
    return value.isoformat() if isinstance(value, date) else str(value)


def _number_text(number: float) -> str:
    whole = number.is_integer() and abs(number) < LARGEST_EXACT
    return TypedNumber(int(number) if whole else repr(number))
