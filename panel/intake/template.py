"""Templates: what each column means and an example, then the headings to be filled in below.

All but the headings stands above them, where loading passes it over: an example is never a record.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panel.intake.file_out import DAY_FORMAT, is_workbook, whole_file
from panel.intake.kinds import Kind
from panel.intake.meanings import EXAMPLES, column_words, day_columns, fixed_words

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

HEADING_ROW = 5
FILLED_IN = 5_000
"""Rows of a workbook that know what may stand in them."""
TEXT_FORMAT = "@"
LONGEST_PROMPT = 255


def write_template(kind: Kind, headings: Sequence[str], path: Path, *, force: bool) -> None:
    """Write a template as a workbook, or as CSV.

    Raises
    ------
    IntakeError
        The file is there already (and not `force`), or cannot be written.
    """
    rows = template_rows(kind, headings)
    with whole_file(path, force=force) as part:
        if is_workbook(path):
            _write_workbook(kind, rows, part)
            return
        with part.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows(rows)


def template_rows(kind: Kind, headings: Sequence[str]) -> list[list[Any]]:
    """Return the rows of a template; its headings are the last."""
    example = EXAMPLES[kind]
    title = (
        f"Template for {kind}: fill it in below row {HEADING_ROW}, the headings. What stands "
        f"above them is not loaded; row {HEADING_ROW - 1} is an example."
    )
    return [
        [title],
        [column_words(kind, heading) for heading in headings],
        [_wanted(kind, heading) for heading in headings],
        [example.get(heading, "") for heading in headings],
        [*headings],
    ]


def _wanted(kind: Kind, heading: str) -> str:
    from panel.intake.loading import columns_of

    columns = columns_of(kind)
    if heading in columns.either:
        return f"{' or '.join(columns.either)} must be there"
    return "must be there" if heading in columns.required else "may be missing"


def _write_workbook(kind: Kind, rows: list[list[Any]], path: Path) -> None:
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font

    book = Workbook()
    page = book.active
    if page is None:
        raise TypeError("a new workbook has a sheet")
    page.title = kind.value
    for number, row in enumerate(rows, start=1):
        for place, value in enumerate(row, start=1):
            cell = page.cell(number, place, _as_day(value, rows[-1][place - 1], kind))
            cell.font = Font(bold=number == HEADING_ROW, italic=number == HEADING_ROW - 1)
            cell.alignment = Alignment(wrap_text=number in {2, 3}, vertical="top")
            if isinstance(cell.value, datetime):
                cell.number_format = DAY_FORMAT
    page.freeze_panes = f"A{HEADING_ROW + 1}"
    for place, heading in enumerate(rows[-1], start=1):
        _shape_column(page, kind, place, heading)
    book.save(path)


def _as_day(value: Any, heading: str, kind: Kind) -> Any:
    if heading in day_columns(kind) and value in EXAMPLES[kind].values():
        return datetime.combine(date.fromisoformat(value), time()) if value else None
    return None if value == "" else value


def _shape_column(page: Worksheet, kind: Kind, place: int, heading: str) -> None:
    """Give a column its width, its format and the list of its words."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    from panel.intake.loading import columns_of

    letter = get_column_letter(place)
    column = page.column_dimensions[letter]
    column.width = max(18, len(heading) + 2)
    if heading in day_columns(kind):
        column.number_format = DAY_FORMAT
    elif heading not in columns_of(kind).numbers:
        column.number_format = TEXT_FORMAT
    words = fixed_words(kind).get(heading)
    listed = DataValidation(
        type="list" if words else None,
        formula1=f'"{",".join(words)}"' if words else None,
        allow_blank=True,
        showErrorMessage=bool(words),
        showInputMessage=True,
        promptTitle=heading[:32],
        prompt=column_words(kind, heading)[:LONGEST_PROMPT],
    )
    listed.errorTitle, listed.error = heading[:32], f"One of: {', '.join(words or ())}"
    listed.showDropDown = False  # which, in this format, shows it
    listed.add(f"{letter}{HEADING_ROW + 1}:{letter}{HEADING_ROW + FILLED_IN}")
    page.add_data_validation(listed)
