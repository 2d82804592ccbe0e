"""Headings of each kind, and the faults of headings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache, lru_cache
from typing import Any
from unicodedata import normalize

from pydantic import TypeAdapter

from panel.intake.cells import RowModel
from panel.intake.kinds import Kind
from panel.intake.table import BrokenCell, Table
from panel.problems import Problem, with_way


@dataclass(frozen=True)
class Columns:
    """What headings a kind has. Of `either` at least one must stand; `open` takes any others."""

    required: tuple[str, ...]
    optional: tuple[str, ...] = ()
    either: tuple[str, ...] = ()
    numbers: frozenset[str] = frozenset()
    open: bool = False

    @property
    def known(self) -> tuple[str, ...]:
        """Return all headings in the order in which they are saved."""
        return (*self.either, *self.required, *self.optional)


@lru_cache(maxsize=4096)
def plain_heading(heading: str) -> str:
    """Return a heading as it is compared: `Filled on` is `filled_on`, wide signs are narrow."""
    return "_".join(normalize("NFKC", heading).casefold().split())


def check_headings(
    table: Table, columns: Columns, kind: Kind, words: Callable[[str], str]
) -> tuple[Table, list[Problem]]:
    """Return the table under the headings of *columns*, and the faults of its own.

    *words* tell what stands in a column.
    """
    headings = tuple(_settled(heading, columns) for heading in table.headings)
    named = replace(table, headings=headings)
    problems = [
        *_unnamed(named),
        *_twice(named),
        *(_unknown(named, heading, columns, kind) for heading in strange_headings(named, columns)),
        *_missing(named, columns, words),
    ]
    return named, problems


def rows_can_be_read(table: Table, columns: Columns) -> bool:
    """Whether every cell stands under a heading of its own, whatever else stands beside them."""
    return not _twice(table) and not list(_absent(table, columns))


def _settled(heading: str, columns: Columns) -> str:
    plain = plain_heading(heading)
    return plain if plain in columns.known else heading


def strange_headings(table: Table, columns: Columns) -> Iterable[str]:
    """Return the headings that are no column of the kind."""
    if columns.open:
        return [heading for heading in table.headings if isinstance(heading, BrokenCell)]
    return [heading for heading in table.headings if heading and heading not in columns.known]


def _unnamed(table: Table) -> list[Problem]:
    return [
        Problem(table.file, table.heading_row, "", "", f"column {number} has cells but no heading")
        for number, heading in enumerate(table.headings, start=1)
        if not heading
        and number - 1 not in table.left_out
        and any(row.cells[number - 1] for row in table.rows)
    ]


def _twice(table: Table) -> list[Problem]:
    places: dict[str, list[str]] = defaultdict(list)
    for number, heading in enumerate(table.headings, start=1):
        places[heading].append(str(number))
    return [
        Problem(
            table.file,
            table.heading_row,
            heading,
            heading,
            f"the heading stands {len(numbers)} times (columns {', '.join(numbers)}): keep one",
        )
        for heading, numbers in places.items()
        if heading and len(numbers) > 1
    ]


def _unknown(table: Table, heading: str, columns: Columns, kind: Kind) -> Problem:
    if plain_heading(heading) in {"pin", "pin_hash", "pins"}:
        option, at_desk = "set them with `oakpanel people pin CODE`", "give them at People"
        words: str = with_way("PINs are never loaded: ", option=option, at_desk=at_desk)
    else:
        words = f"{kind} have no such column{_nearest_heading(heading, columns.known)}"
    shown = heading if heading.isprintable() else ascii(heading)
    return Problem(table.file, table.heading_row, shown, shown, words)


NEAR = 0.65
"""From here on a heading is a slip of another: `litres` is no slip of `site`, `sight` is."""


def _nearest_heading(heading: str, known: Sequence[str]) -> str:
    close = get_close_matches(plain_heading(heading), known, n=1, cutoff=NEAR)
    return f"; nearest: {close[0]}" if close else f"; there are: {', '.join(known)}"


def _absent(table: Table, columns: Columns) -> Iterator[tuple[str, ...]]:
    """Give each column that must stand and does not; of some either may."""
    if columns.either and not set(columns.either) & set(table.headings):
        yield columns.either
    yield from ((heading,) for heading in columns.required if heading not in table.headings)


def _missing(table: Table, columns: Columns, words: Callable[[str], str]) -> Iterator[Problem]:
    for names in _absent(table, columns):
        which = f"a column {' or '.join(names)}" if names[1:] else "this column"
        message = f"{which} is missing among the headings: {words(names[0])}"
        yield Problem(table.file, table.heading_row, names[0], "", message)


@cache
def rows_adapter(model: type[RowModel]) -> TypeAdapter[list[Any]]:
    """Return the checker of a list of rows."""
    return TypeAdapter(list[model])  # type: ignore[valid-type]
