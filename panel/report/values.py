"""What a page to hand on is made of, in the order in which it is read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.pictures import Picture, Plane


@dataclass(frozen=True)
class Column:
    """A column of a table: what it holds, its unit, and whether figures stand in it."""

    name: str
    unit: str = ""
    figures: bool = False

    @property
    def heading(self) -> str:
        """The name with its unit."""
        return f"{self.name}, {self.unit}" if self.unit else self.name


@dataclass(frozen=True)
class Table:
    """Rows under headings; `note` says what has to be known to read it."""

    title: str
    columns: tuple[Column, ...]
    rows: Sequence[Sequence[str]]
    note: str = ""


@dataclass(frozen=True)
class Said:
    """A name with what is said of it: a note with its verdict, an assessor by code."""

    name: str
    word: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Section:
    """A part of a page: sentences, what is said of each, pictures, tables, in this order.

    A card begins a new sheet of paper, so that it can be handed out by itself.
    """

    title: str
    sentences: tuple[str, ...] = ()
    said: tuple[Said, ...] = ()
    tables: tuple[Table, ...] = ()
    pictures: tuple[Picture | Plane, ...] = ()
    card: bool = False


@dataclass(frozen=True)
class Opening:
    """What a page begins with: the word, the finding, and what to do next."""

    word: str
    said: tuple[str, ...]
    next_action: str = ""


@dataclass(frozen=True)
class Report:
    """A whole page.

    Attributes
    ----------
    kind
        What it is about, such as "Session".
    name
        Which one.
    fact
        What has to be known of it before all else: a day, how many people, a draft.
    reader
        For whom it was made.
    pictures
        Each is drawn with its sentence below it.
    reckoned, sources
        How the figures came about, and whose methods they are.
    foot
        As of which day, and the newest link of the log.
    compact
        Whether it is printed smaller, so that one sheet is enough: for a guest, or for a card.
    """

    kind: str
    name: str
    fact: str
    reader: str
    opening: Opening
    sections: tuple[Section, ...]
    reckoned: tuple[str, ...]
    sources: tuple[str, ...]
    cautions: tuple[str, ...]
    foot: tuple[str, ...]
    pictures: tuple[Picture | Plane, ...] = ()
    compact: bool = False


def sentences(*given: str | None) -> tuple[str, ...]:
    """Return those that say something."""
    return tuple(one for one in given if one)


def action(text: str | None) -> str:
    """Return a next action as a sentence of its own."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}." if text else ""


BROAD = 1_000_000
"""A width at which no sentence is broken: a browser does that."""


def unbroken(lines: Iterable[str]) -> tuple[str, ...]:
    """Return lines made at `BROAD` as sentences, without what indents and parts them."""
    return tuple(line.strip() for line in lines if line.strip())
