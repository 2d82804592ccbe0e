"""A file as a table of text cells, whatever it was before."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from panel.intake.letters import Letters

GUARDED = re.compile(r"'+[=+\-@]")
WANTS_GUARD = re.compile(r"'*[=+\-@]")
MOST_COLUMNS = 1_000
MOST_CELLS = 5_000_000
"""What a table may hold: more would take more memory than a desk's computer has to spare."""


class Marks(Enum):
    """Which decimal marks a file may hold."""

    POINT = "point"
    """Comma-separated: the comma is taken, so only a point can be a decimal mark."""
    EITHER = "either"
    """Semicolons, tabs, texts in a workbook: the cells have to tell."""


class TypedNumber(str):
    """A number that a workbook holds as a number: its mark is no question."""

    __slots__ = ()


class BrokenCell(str):
    """A workbook's error value or uncomputed formula; `words` says what would be right."""

    __slots__ = ("words",)
    words: str


class Row(NamedTuple):
    """A row as a spreadsheet counts it: the first line of the file is row 1."""

    number: int
    cells: Sequence[str]


@dataclass(frozen=True)
class Table:
    """Headings and rows; every row has a cell for every heading."""

    file: str
    headings: tuple[str, ...]
    heading_row: int
    rows: Sequence[Row]
    marks: Marks
    above: int = 0
    """How many filled rows stand above the headings; they are passed over."""
    letters: Letters | None = None
    """In which letters the file was written, where it was not UTF-8."""
    left_out: frozenset[int] = frozenset()
    """Places of the columns that were to be left out; their headings are empty."""


class Cleaner(dict[str, str]):
    """Gives each distinct cell its clean text once; a file repeats most of its cells."""

    def __missing__(self, raw: str) -> str:
        """Clean a cell that was not met before."""
        text = self[raw] = raw if isinstance(raw, TypedNumber | BrokenCell) else clean(raw)
        return text


def clean(raw: str) -> str:
    """Return a cell without the blanks around it, in composed letters, without its guard."""
    text = raw.strip()
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.isascii():
        text = unicodedata.normalize("NFC", text).strip()
    return text[1:] if GUARDED.match(text) else text


def guard(text: str) -> str:
    """Return a text as a file holds it, so that no spreadsheet takes it for a formula.

    A text that begins with `=`, `+`, `-` or `@` gets an apostrophe in front. One that begins with
    apostrophes and then such a sign gets one more: reading takes off exactly one, so that the
    round trip is exact.
    """
    return f"'{text}" if WANTS_GUARD.match(text) else text
