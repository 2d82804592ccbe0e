"""The lines of a ballot file as they were keyed, each with the file and the row it stands in.

A row is who, the code on the glass, what, and the value. What is `pass` or `hold` (its value a
fault) where casks are passed, `place` where glasses stand in sets, a second such as `5 s` where
they are traced, else a descriptor or an own word; `fault` marks a fault beside it.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path

from panel.errors import SessionError
from panel.kinds import Fault

HEADINGS = ("assessor", "code", "what", "value")
PASS, HOLD, PLACE, FAULT = "pass", "hold", "place", "fault"
TICKS = ("x", "X")
MOST_TOLD = 24


@dataclass(frozen=True, order=True)
class KeyedLine:
    """One line of a ballot as it was keyed; where it stands makes it no other line."""

    assessor: str
    code: str
    what: str
    value: str
    file: str = field(default="", compare=False)
    row: int = field(default=0, compare=False)


def places_of(lines: Iterable[KeyedLine]) -> str:
    """Return in which rows of which files lines stand; nothing where they come from no file."""
    rows: dict[str, list[int]] = {}
    for line in lines:
        if line.file and line.row not in rows.setdefault(line.file, []):
            rows[line.file].append(line.row)
    return ", ".join(f"{file} row {_listed(at)}" for file, at in rows.items())


def _listed(numbers: Iterable[int]) -> str:
    *most, last = map(str, sorted(numbers))
    return f"{', '.join(most)} and {last}" if most else last


def fault_of(value: str) -> Fault | None:
    """Return a fault by its name, or by its number on the ballot; None where it is neither."""
    named = list(Fault)
    if value.isdecimal():
        return named[int(value) - 1] if 1 <= int(value) <= len(named) else None
    return next((fault for fault in named if fault.value == value), None)


def numbered_faults() -> str:
    """Return every fault with its number on the ballot."""
    return ", ".join(f"{n} {fault.value}" for n, fault in enumerate(Fault, start=1))


def refusal(words: str, told: Iterable[str]) -> str:
    """Return what is told under a heading, cut where it gets too long to read."""
    lines = list(told)
    more = [f"  and {len(lines) - MOST_TOLD} more"] if len(lines) > MOST_TOLD else []
    return "\n".join([f"{words}:", *(f"  {line}" for line in lines[:MOST_TOLD]), *more])


def read_ballots(text: str, file: str) -> list[KeyedLine]:
    """Read a ballot file. A scanner's line ends and blanks around a cell count for nothing.

    Raises
    ------
    SessionError
        A heading is missing, or a row has no assessor or code.
    """
    rows = csv.DictReader(StringIO(text.removeprefix("\ufeff")), skipinitialspace=True)
    found = {(name or "").strip().lower(): name for name in rows.fieldnames or ()}
    missing = [name for name in HEADINGS if name not in found]
    if missing:
        raise SessionError(f"{file}: the headings are {', '.join(HEADINGS)}; missing: {missing[0]}")
    lines: list[KeyedLine] = []
    faults: list[str] = []
    for row in rows:
        cells = [(row.get(found[name]) or "").strip() for name in HEADINGS]
        if not any(cells[2:]):
            continue
        who, code, what, value = cells
        if not who or not code:
            where = f"{file}, row {rows.line_num}"
            faults.append(f"{where}: name the assessor and the code on the glass.")
        lines.append(KeyedLine(who, code, what, value, file=file, row=rows.line_num))
    if faults:
        raise SessionError(refusal("Nothing was kept", faults))
    return lines


def ballot_files(first: Path, second: Path) -> tuple[list[KeyedLine], list[KeyedLine]]:
    """Read the two files.

    Raises
    ------
    SessionError
        One cannot be read, or both are the same file; of both what is wrong is told.
    """
    if first.resolve() == second.resolve():
        raise SessionError("That is one file: a ballot is keyed twice, by two people.")
    alike = first.name == second.name
    read: list[list[KeyedLine]] = []
    faults: list[str] = []
    for path in (first, second):
        try:
            text = path.read_text(encoding="utf-8-sig")
            read.append(read_ballots(text, str(path) if alike else path.name))
        except (OSError, UnicodeDecodeError) as error:
            why = getattr(error, "strerror", None) or "it is no UTF-8 text"
            faults.append(f"{path} cannot be read: {why}.")
        except SessionError as error:
            faults.append(str(error))
    if faults:
        raise SessionError("\n".join(faults))
    return read[0], read[1]
