"""Numbers as people and programs write them. A mark that could mean two things is refused."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from panel.figures import COMMA, PERHAPS_THOUSANDS
from panel.intake.table import Marks, Row, Table, TypedNumber
from panel.problems import Problem

PLAIN = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
POINT = re.compile(r"[+-]?[0-9]*\.[0-9]+")
GROUPED = re.compile(
    r"[+-]?[0-9]{1,3}(?P<mark>[ '’\u00a0\u2009\u202f.,])[0-9]{3}(?:(?P=mark)[0-9]{3})*"
    r"(?P<rest>(?!(?P=mark))[.,][0-9]+)?"
)
WITH_UNIT = re.compile(r"(?P<number>[+-]?[0-9]+(?:[.,][0-9]+)?)\s*(?:%|[^\W\d_]).*")
EXAMPLE = "12.5"
NO_VALUE = frozenset({"na", "n/a", "nan", "null", "none", "-", "--", "?", "#n/a"})
UNENDING = frozenset({"inf", "+inf", "-inf", "infinity", "-infinity", "+infinity"})


def parse_number(text: str, example: str = EXAMPLE) -> float:
    """Return the number that a cell means; *example* is one such as it would be right.

    Raises
    ------
    ValueError
        With what would be right.
    """
    if PLAIN.fullmatch(text) is None:
        text = narrow(text)
        if PLAIN.fullmatch(text) is None:
            raise ValueError(_what_would_be_right(text, example))
    number = float(text)
    if not math.isfinite(number):
        raise ValueError("must be a finite number")
    return number + 0.0  # -0.0 becomes 0.0


def narrow(text: str) -> str:
    """Return a text with wide digits and marks as narrow ones: `６３．５` is 63.5."""
    return text if text.isascii() else unicodedata.normalize("NFKC", text)


def _what_would_be_right(text: str, example: str = EXAMPLE) -> str:
    grouped = GROUPED.fullmatch(text)
    if grouped is not None:
        return _without_groups(text, grouped)
    if COMMA.fullmatch(text):
        return f"write {_with_point(text)}: only a point can be the decimal mark here"
    if text.casefold() in NO_VALUE:
        return "leave the cell empty where there is no value"
    if text.casefold() in UNENDING:
        return "must be a finite number"
    unit = WITH_UNIT.fullmatch(text)
    if unit is not None:
        return f"write the number alone, {_with_point(unit['number'])}; the unit is the column's"
    return f"must be a number such as {example}"


def _without_groups(text: str, grouped: re.Match[str]) -> str:
    if PERHAPS_THOUSANDS.fullmatch(text):
        whole = text.replace(",", "").replace(".", "")
        return f"could be {whole} or {_with_point(text)}: write the one that is meant"
    rest = grouped["rest"] or ""
    whole = re.sub(r"[^0-9+-]", "", text[: len(text) - len(rest)])
    return f"write {whole}{rest.replace(',', '.')}: no mark between the thousands"


def _with_point(text: str) -> str:
    pointed = text.replace(",", ".")
    return f"0{pointed}" if pointed.startswith(".") and pointed != "." else pointed


@dataclass
class Evidence:
    """What the number cells of one file say about its decimal mark."""

    commas: set[str] = field(default_factory=set)
    points: set[str] = field(default_factory=set)

    def faults(self) -> dict[str, str]:
        """Return the texts that cannot be told, each with what would be right."""
        if self.commas and self.points:
            return self._mixed()
        marked = self.commas or self.points
        if all(PERHAPS_THOUSANDS.fullmatch(narrow(text)) for text in marked):
            return {text: _what_would_be_right(narrow(text)) for text in marked}
        return {}

    def _mixed(self) -> dict[str, str]:
        fewer, more = sorted((self.commas, self.points), key=len)
        example = min(more)
        return {
            text: f"other cells write decimals like {example}: use one mark in the whole file"
            for text in fewer
        }


@dataclass(frozen=True)
class Decimals:
    """A table with points as decimal marks, the cells whose mark cannot be told, what was taken."""

    table: Table
    problems: list[Problem] = field(default_factory=list)
    commas: Mapping[str, str] = field(default_factory=dict)
    """A number with a comma that was read as a decimal mark, by column."""


def settle_decimals(table: Table, numbers: Collection[str]) -> Decimals:
    """Return the table with points as decimal marks, and the cells whose mark cannot be told.

    Cells that are no numbers stay as they are; their own column says what is wrong with them.
    """
    places = [i for i, heading in enumerate(table.headings) if heading in numbers]
    if table.marks is Marks.POINT or not places:
        return Decimals(table)
    evidence = _gather({row.cells[i] for row in table.rows for i in places})
    faults = evidence.faults()
    commas = evidence.commas if not evidence.points else set()
    pointed = {text: _with_point(narrow(text)) for text in commas if text not in faults}
    problems = [
        Problem(table.file, row.number, table.headings[i], row.cells[i], faults[row.cells[i]])
        for row in (table.rows if faults else ())
        for i in places
        if _is_text(row.cells[i]) and row.cells[i] in faults
    ]
    if not pointed:
        return Decimals(table, problems)
    rows = [_rewritten(row, places, pointed) for row in table.rows]
    return Decimals(replace(table, rows=rows), problems, _commas(table, places, pointed))


def _commas(table: Table, places: list[int], pointed: Mapping[str, str]) -> dict[str, str]:
    """Return the first number with a comma of each column that has one."""
    firsts = (
        (i, next((r.cells[i] for r in table.rows if r.cells[i] in pointed), None)) for i in places
    )
    return {table.headings[i]: str(cell) for i, cell in firsts if cell is not None}


def _gather(cells: Iterable[str]) -> Evidence:
    evidence = Evidence()
    for cell in cells:
        if not _is_text(cell):
            continue
        if COMMA.fullmatch(narrow(cell)):
            evidence.commas.add(cell)
        elif POINT.fullmatch(narrow(cell)):
            evidence.points.add(cell)
    return evidence


def _is_text(cell: str) -> bool:
    return not isinstance(cell, TypedNumber)


def _rewritten(row: Row, places: list[int], pointed: dict[str, str]) -> Row:
    cells = list(row.cells)
    for i in places:
        cells[i] = pointed.get(cells[i], cells[i])
    return Row(row.number, cells)
