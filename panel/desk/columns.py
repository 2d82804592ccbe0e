"""What a column of a big table shows, how it sorts, and how text is cut to a width."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from rich.cells import cell_len, set_cell_size

Row = TypeVar("Row")

DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True)
class Column(Generic[Row]):
    """One column. The first capital letter of the heading is the key that sorts by it."""

    heading: str
    width: int
    show: Callable[[Row], str]
    order: Callable[[Row], Any] | None = None
    right: bool = False
    stretch: bool = False

    @property
    def letter(self) -> str:
        """Return the key that sorts by this column."""
        return next((sign for sign in self.heading if sign.isupper()), "")

    def sort_value(self, row: Row) -> Any:
        """Return what rows are compared by."""
        return natural(self.show(row)) if self.order is None else self.order(row)


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that puts cask 9 before cask 10."""
    parts = DIGITS.split(text.casefold())
    return tuple((1, int(part), "") if part.isdecimal() else (0, 0, part) for part in parts if part)


def in_order(rows: Sequence[Row], column: Column[Row], *, falling: bool) -> list[Row]:
    """Return the rows sorted by a column; rows without a value stand last either way."""
    valued = [(column.sort_value(row), row) for row in rows]
    known = [pair for pair in valued if pair[0] is not None]
    known.sort(key=lambda pair: pair[0], reverse=falling)
    return [row for _, row in known] + [row for value, row in valued if value is None]


def fitting(columns: Sequence[Column[Row]], width: int) -> list[Column[Row]]:
    """Return the columns that fit side by side; earlier ones matter more, one may stretch."""
    shown: list[Column[Row]] = []
    room = width + 1
    for column in columns:
        if shown and room < column.width + 1:
            break
        room -= column.width + 1
        shown.append(column)
    spare = max(room, 0)
    return [replace(each, width=each.width + spare) if each.stretch else each for each in shown]


def fit(text: str, width: int, *, right: bool = False) -> str:
    """Return *text* in exactly *width* cells, without anything that could move a cursor."""
    if not text.isprintable():
        text = "".join(sign if sign.isprintable() else "·" for sign in text)
    length = len(text) if text.isascii() else cell_len(text)
    if length > width:
        return set_cell_size(text, max(width - 1, 0)) + "…" if width else ""
    space = " " * (width - length)
    return space + text if right else text + space


def has_all_words(searched: str, words: Sequence[str]) -> bool:
    """Tell whether every word stands somewhere in the text."""
    return all(word in searched for word in words)
