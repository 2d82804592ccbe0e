"""Dates as people write them: the order of day and month is taken where a column settles it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum

from panel.intake.table import BrokenCell, Row, Table
from panel.problems import Problem, with_way

YEAR_FIRST = re.compile(
    r"([0-9]{4})(?:年\s*([0-9]{1,2})月\s*([0-9]{1,2})日|[./-]([0-9]{1,2})[./-]([0-9]{1,2})\.?)"
)
YEAR_LAST = re.compile(r"([0-9]{1,2})[./-]\s?([0-9]{1,2})[./-]\s?([0-9]{4})")


class DayOrder(StrEnum):
    """What comes first in a date whose year stands last."""

    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"


class OpenDay(str):
    """A date that could be two: its column was told once, so that its cell is not told again."""

    __slots__ = ()


@dataclass(frozen=True)
class DatesTaken:
    """How the dates of a column were read; `by` is the one that settled it, if one did."""

    column: str
    order: DayOrder
    by: str = ""
    kept: bool = False
    """Whether it was said for an earlier file with the same headings."""


@dataclass(frozen=True)
class DatesSaid:
    """What was said of the order: now, for one column or (under '') all, and for earlier files."""

    now: Mapping[str, DayOrder] = field(default_factory=dict)
    before: Mapping[str, DayOrder] = field(default_factory=dict)

    def of_now(self, column: str) -> DayOrder | None:
        """Return the order that was said of a column with this load."""
        return self.now.get(column) or self.now.get("")

    def of(self, column: str) -> DayOrder | None:
        """Return the order that was said of a column."""
        return self.of_now(column) or self.before.get(column)


@dataclass(frozen=True)
class Days:
    """A table whose dates are year-month-day, the faults, what was taken, what stayed open."""

    table: Table
    problems: list[Problem] = field(default_factory=list)
    taken: tuple[DatesTaken, ...] = ()
    open: Mapping[str, str] = field(default_factory=dict)
    """A date that could be two, by column."""


def settle_days(table: Table, columns: Collection[str], said: DatesSaid) -> Days:
    """Return the table with dates as year-month-day, as far as each column settles its order.

    Cells that are no dates stay as they are; their own column says what is wrong with them.
    """
    problems, taken, still_open = [], [], {}
    new: dict[int, dict[str, str]] = {}
    for place, column in enumerate(table.headings):
        if column not in columns:
            continue
        found = _Column.of({row.cells[place] for row in table.rows})
        order = found.order(said.of(column))
        if found.open and order is None and not found.mixed(None):
            still_open[column] = min(found.open)
        elif order is not None and not found.mixed(said.of(column)) and found.year_last:
            by = found.by(order)
            taken.append(DatesTaken(column, order, by, not by and not said.of_now(column)))
        problems += found.faults(table, place, said.of(column))
        new[place] = found.rewritten(None if found.mixed(said.of(column)) else order)
    new = {place: cells for place, cells in new.items() if cells}
    rows = [_with(row, new) for row in table.rows] if new else table.rows
    return Days(replace(table, rows=rows), problems, tuple(taken), still_open)


def _with(row: Row, new: Mapping[int, Mapping[str, str]]) -> Row:
    cells = list(row.cells)
    for place, ours in new.items():
        cells[place] = ours.get(cells[place], cells[place])
    return Row(row.number, cells)


def _day(year: str, month: str, day: str) -> date | None:
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return None


def both_days(cell: str) -> tuple[date | None, date | None]:
    """Return the date that a cell means day first, and month first."""
    parts = YEAR_LAST.fullmatch(unicodedata.normalize("NFKC", cell))
    if parts is None:
        return None, None
    one, two, year = parts.groups()
    return _day(year, two, one), _day(year, one, two)


@dataclass
class _Column:
    """The distinct dates of a column by what they say of its order."""

    plain: dict[str, date] = field(default_factory=dict)
    day_first: dict[str, date] = field(default_factory=dict)
    month_first: dict[str, date] = field(default_factory=dict)
    same: dict[str, date] = field(default_factory=dict)
    open: dict[str, tuple[date, date]] = field(default_factory=dict)

    @classmethod
    def of(cls, cells: Collection[str]) -> _Column:
        found = cls()
        for cell in cells:
            if cell and not isinstance(cell, BrokenCell):
                found._sort(cell)
        return found

    def _sort(self, cell: str) -> None:
        parts = YEAR_FIRST.fullmatch(unicodedata.normalize("NFKC", cell))
        if parts is not None:
            day = _day(*(part for part in parts.groups() if part))
            if day is not None:
                self.plain[cell] = day
            return
        first, second = both_days(cell)
        if first and second:
            if first == second:
                self.same[cell] = first
            else:
                self.open[cell] = (first, second)
        elif first:
            self.day_first[cell] = first
        elif second:
            self.month_first[cell] = second

    @property
    def year_last(self) -> bool:
        return bool(self.day_first or self.month_first or self.open)

    def by(self, order: DayOrder) -> str:
        """Return the date that settles an order, '' where none does."""
        telling = self.day_first if order is DayOrder.DAY_FIRST else self.month_first
        return min(telling, default="")

    def order(self, said: DayOrder | None) -> DayOrder | None:
        if self.day_first:
            return DayOrder.DAY_FIRST
        return DayOrder.MONTH_FIRST if self.month_first else said

    def mixed(self, said: DayOrder | None) -> bool:
        """Whether the dates contradict each other, or what was said of them."""
        day_first = bool(self.day_first) or said is DayOrder.DAY_FIRST
        return day_first and (bool(self.month_first) or said is DayOrder.MONTH_FIRST)

    def faults(self, table: Table, place: int, said: DayOrder | None) -> list[Problem]:
        """Return the fault of each date that contradicts, or one for all that stay open."""
        column = table.headings[place]
        if self.mixed(said):
            told = self._contradicting(said)
        elif self.open and self.order(said) is None:
            first = next(row for row in table.rows if row.cells[place] in self.open)
            words = _open_words(*self.open[first.cells[place]], len(self.open))
            return [Problem(table.file, first.number, column, first.cells[place], words)]
        else:
            return []
        return [
            Problem(table.file, row.number, column, row.cells[place], told[row.cells[place]])
            for row in table.rows
            if row.cells[place] in told
        ]

    def _contradicting(self, said: DayOrder | None) -> dict[str, str]:
        if self.day_first and self.month_first:
            fewer, more = sorted((self.day_first, self.month_first), key=len)
            words = f"other dates of this column are like {min(more)}: one order in a column"
            either = "day or month first? The dates of this column contradict each other"
            return {**dict.fromkeys(self.open, either), **dict.fromkeys(fewer, words)}
        words = f"cannot be {said}, as was said of this column"
        return dict.fromkeys((*self.day_first, *self.month_first), words)

    def rewritten(self, order: DayOrder | None) -> dict[str, str]:
        """Return the new text of each cell; one that cannot be told is marked as told."""
        settled = {**self.plain, **self.same, **self.day_first, **self.month_first}
        new = {cell: str(day) for cell, day in settled.items()}
        for cell, days in self.open.items():
            which = 0 if order is DayOrder.DAY_FIRST else 1
            new[cell] = OpenDay(cell) if order is None else str(days[which])
        return {cell: text for cell, text in new.items() if text != cell or order is None}


def meant_day(text: str) -> str:
    """Return a date that can mean only one day as year-month-day, anything else as it stands."""
    found = _Column.of([text])
    return text if found.open else found.rewritten(None).get(text, text)


def _open_words(day_first: date, month_first: date, dates: int) -> str:
    also = f", nor the {dates - 1} others like it" if dates > 1 else ""
    return with_way(
        f"could be {day_first} or {month_first}, and no date in this column settles it{also}: ",
        option=f"say which with --dates {DayOrder.DAY_FIRST} or --dates {DayOrder.MONTH_FIRST}",
        at_desk="checking the file again asks which",
    )
