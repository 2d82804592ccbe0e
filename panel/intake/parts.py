"""The parts of a trial vatting in one cell: `C12/1=60; C40/2=40`, in mL."""

from __future__ import annotations

import re
from collections.abc import Mapping

from panel.intake.cells import MILLILITRES, fault, read_text

PART = re.compile(
    r'\s*(?:"(?P<quoted>(?:[^"]|"")*)"|(?P<plain>[^=;"]+?))\s*=\s*(?P<amount>[^;]*?)\s*(?:;|$)'
)
NEEDS_QUOTES = re.compile(r'[=;"]|^\s|\s$')


def read_parts(text: str | None) -> dict[str, float] | None:
    """Return the millilitres of each filling, None for an empty cell."""
    cell = read_text(text)
    if cell is None:
        return None
    parts: dict[str, float] = {}
    place = 0
    while cell[place:].strip(" ;"):
        match = PART.match(cell, place)
        if match is None:
            raise fault("parts are written C12/1=60; C40/2=40 (filling = mL)")
        _add_part(parts, match)
        place = match.end()
    return parts or None


def _add_part(parts: dict[str, float], match: re.Match[str]) -> None:
    quoted = match["quoted"]
    label = match["plain"] if quoted is None else quoted.replace('""', '"')
    if label in parts:
        raise fault(f"{label} stands twice among the parts: add them up")
    parts[label] = MILLILITRES(match["amount"])


def write_parts(parts: Mapping[str, float]) -> str:
    """Return the cell of a trial's parts, as `read_parts` reads it."""
    return "; ".join(f"{quoted(label)}={number_text(ml)}" for label, ml in sorted(parts.items()))


def number_text(number: float) -> str:
    """Return the shortest text that reads back as the same number."""
    whole = number.is_integer() and abs(number) < 1e15
    return str(int(number)) if whole else repr(number)


def quoted(label: str) -> str:
    """Return a label as it stands in the cell of the parts."""
    if NEEDS_QUOTES.search(label):
        doubled = label.replace('"', '""')
        return f'"{doubled}"'
    return label
