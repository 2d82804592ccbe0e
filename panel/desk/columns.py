"""What a column of a big table shows, how it sorts, and how text is cut to a width."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from rich.cells import cell_len, set_cell_size

Row = TypeVar("Row")

DIGITS = re.compile(r"(\d+)")
SAMPLED_ROWS = 1_000
LEAST_CUT = 7
WORDS_WIDTH = 70
"""Sentences beside figures are folded at this width."""


@dataclass(frozen=True)
class Column(Generic[Row]):
    """One column. The first capital letter of the heading is the key that sorts by it."""

    heading: str
    width: int
    show: Callable[[Row], str]
    order: Callable[[Row], Any] | None = None
    right: bool = False
    stretch: bool = False
    longest: int = 0
    """What stands in it is as wide as that (`suited`); 0 where nobody looked."""

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


def suited(columns: Sequence[Column[Row]], rows: Sequence[Row]) -> list[Column[Row]]:
    """Return the columns no wider than what stands in them, judged by a thousand rows or so."""
    looked_at = rows[:: max(len(rows) // SAMPLED_ROWS, 1)]
    return [_suited(each, looked_at) for each in columns]


def _suited(column: Column[Row], rows: Sequence[Row]) -> Column[Row]:
    least = len(column.heading) + 1  # room for the arrow of the order
    longest = max((cell_len(column.show(row)) for row in rows), default=column.width)
    return replace(column, width=max(least, min(column.width, longest)), longest=longest)


def fitting(columns: Sequence[Column[Row]], width: int) -> list[Column[Row]]:
    """Return the columns that fit side by side; earlier ones matter more.

    What room is left goes where something is cut: first to the column that stretches, then to the
    others. The rest stretches; else the next column gets it where something could still be read.
    """
    shown: list[Column[Row]] = []
    room = width + 1
    for column in columns:
        if shown and room < column.width + 1:
            break
        room -= column.width + 1
        shown.append(column)
    for at in sorted(range(len(shown)), key=lambda at: not shown[at].stretch):
        more = min(room, max(shown[at].longest - shown[at].width, 0))
        if more > 0:
            room -= more
            shown[at] = replace(shown[at], width=shown[at].width + more)
    if any(each.stretch for each in shown):
        return [
            replace(each, width=each.width + max(room, 0)) if each.stretch else each
            for each in shown
        ]
    if len(shown) < len(columns) and room > LEAST_CUT and not columns[len(shown)].right:
        shown.append(replace(columns[len(shown)], width=room - 1))
    return shown


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
