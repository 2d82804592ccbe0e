"""What guests scored on paper, as the guide typed it: read, checked, held beside the panel.

A guest is a number on a sheet. Nothing of them goes into the database.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from pydantic_core import PydanticCustomError

from panel.errors import IntakeError
from panel.figures import typed_number
from panel.intake.cells import ON_THE_LINE, Whole, fault, need_name
from panel.intake.columns import Columns, plain_heading
from panel.intake.csv_text import Unreadable, read_csv
from panel.intake.headings import Finder
from panel.intake.reading import read_bytes
from panel.problems import Problem
from panel.release.tasting import PAPER_NOTES
from panel.store.finding import nearest_words

if TYPE_CHECKING:
    from panel.intake.table import Row, Table
    from panel.release.tasting import Tasting
    from panel.release.tasting_found import MiddleHalf

COLUMNS = Columns(("guest", "release", "note", "score"))
GUEST = Whole(low=1)
Value = TypeVar("Value")


@dataclass(frozen=True)
class GuestScore:
    """One mark on a guest's sheet, in points of 100."""

    guest: int
    release: str
    note: str
    points: float


@dataclass(frozen=True)
class BesidePanel:
    """Guests' scores of one note of one pour, and the panel's middle half, where it has one."""

    release: str
    note: str
    points: tuple[float, ...]
    half: MiddleHalf | None

    @property
    def within(self) -> int:
        """How many of them lie in the panel's middle half, its ends included."""
        if self.half is None:
            return 0
        low, high = self.half.low, self.half.high
        return sum(low <= points <= high for points in self.points)


@dataclass(frozen=True)
class Guests:
    """All of it, what agrees best first."""

    n_guests: int
    lines: tuple[BesidePanel, ...]


def guests_of(path: Path, tasting: Tasting) -> Guests:
    """Return the scores in a CSV file beside what the panel found.

    Raises
    ------
    IntakeError
        With every fault of the file; nothing is guessed and nothing left out.
    """
    return beside_panel(read_guests(path, tasting), tasting)


def beside_panel(scores: Sequence[GuestScore], tasting: Tasting) -> Guests:
    """Return guests' scores beside what the panel found."""
    by_line: dict[tuple[str, str], list[float]] = {}
    for score in sorted(scores, key=lambda one: one.guest):
        by_line.setdefault((score.release, score.note), []).append(score.points)
    halves = {pour.name: pour.found.halves or {} for pour in tasting.pours}
    lines = [
        BesidePanel(release, note, tuple(points), halves[release].get(note))
        for (release, note), points in by_line.items()
    ]
    places = {pour.name: place for place, pour in enumerate(tasting.pours)}

    def agreement(line: BesidePanel) -> tuple[float, int, str]:
        share = -1.0 if line.half is None else line.within / len(line.points)
        return -share, places[line.release], line.note

    return Guests(len({one.guest for one in scores}), tuple(sorted(lines, key=agreement)))


def read_guest(text: str) -> int:
    """Return the number of a guest's sheet as it was typed.

    Raises
    ------
    IntakeError
        It is no whole number from 1 up.
    """
    return _typed(_guest, text)


def read_points(text: str) -> float:
    """Return points on the line from 0 to 100 as they were typed, with a point or one comma.

    Raises
    ------
    IntakeError
        It is no number on that line.
    """
    try:
        number = typed_number(text)
    except ValueError as error:
        raise IntakeError(str(error)) from None
    return _typed(ON_THE_LINE, repr(number))


def _typed(read: Callable[[str], Value], text: str) -> Value:
    try:
        return read(text)
    except PydanticCustomError as error:
        raise IntakeError(error.message()) from None


def read_guests(path: Path, tasting: Tasting) -> tuple[GuestScore, ...]:
    """Return every score of the file.

    Raises
    ------
    IntakeError
        As `guests_of`.
    """
    find = Finder(lambda _headings: COLUMNS)
    try:
        table, problems = read_csv(read_bytes(path), path.name, find)
    except Unreadable as refusal:
        raise _refused([refusal.problem]) from refusal
    places = _places(table)
    missing = [name for name in COLUMNS.required if name not in places]
    problems += [Problem(path.name, table.heading_row, name, "", "is missing") for name in missing]
    if missing:
        raise _refused(problems)
    reader = _Reader(path.name, places, tasting, problems)
    found = [score for row in table.rows if (score := reader.read(row))]
    problems += _too_many_notes(path.name, found)
    if not found and not problems:
        problems.append(Problem(path.name, 0, "", "", "no guest has scored anything in it"))
    if problems:
        raise _refused(problems)
    return tuple(found)


def _places(table: Table) -> dict[str, int]:
    return {plain_heading(heading): place for place, heading in enumerate(table.headings)}


def _refused(problems: Sequence[Problem]) -> IntakeError:
    count = f"{len(problems)} fault{'' if len(problems) == 1 else 's'}"
    return IntakeError(f"The guests' scores have {count}; no page is made.", sorted(problems))


def _too_many_notes(file: str, found: Sequence[GuestScore]) -> Iterator[Problem]:
    notes = list(dict.fromkeys(score.note for score in found))
    if len(notes) > PAPER_NOTES:
        said = f"{len(notes)} notes are scored ({', '.join(notes)}); a sheet has {PAPER_NOTES}"
        yield Problem(file, 0, "note", "", said)


class _Reader:
    """Reads row by row, and notes what is wrong with each cell."""

    def __init__(
        self,
        file: str,
        places: Mapping[str, int],
        tasting: Tasting,
        problems: list[Problem],
    ) -> None:
        self.file, self.places, self.problems = file, places, problems
        self.releases = {pour.name.casefold(): pour.name for pour in tasting.pours}
        told = [claim.note for pour in tasting.pours for claim in pour.sheet.claims]
        self.notes = {note.casefold(): note for note in told}
        self.met: dict[tuple[int, str, str], int] = {}

    def read(self, row: Row) -> GuestScore | None:
        """Return the score of a row, None where something is wrong with it."""
        guest = self._cell(row, "guest", _guest)
        release = self._cell(row, "release", lambda text: _known(text, self.releases, "pour"))
        note = self._cell(row, "note", lambda text: _known(text, self.notes, "note"))
        points = self._cell(row, "score", ON_THE_LINE)
        if guest is None or release is None or note is None or points is None:
            return None
        first = self.met.setdefault((guest, release, note), row.number)
        if first != row.number:
            said = f"guest {guest} scored {note} of {release} in row {first} already"
            self.problems.append(Problem(self.file, row.number, "", "", said))
        return GuestScore(guest, release, note, points)

    def _cell(self, row: Row, column: str, read: Callable[[str], Value]) -> Value | None:
        text = row.cells[self.places[column]]
        try:
            return read(text)
        except PydanticCustomError as error:
            found = Problem(self.file, row.number, column, str(text), error.message())
            self.problems.append(found)
            return None


def _guest(text: str) -> int:
    number = GUEST(text)
    if number is None:
        raise fault("must not be empty: the number on the guest's sheet")
    return number


def _known(text: str, known: Mapping[str, str], what: str) -> str:
    name = need_name(text)
    if name.casefold() not in known:
        near = nearest_words(name, known.values())
        raise fault(f"is no {what} of this tasting.{near}")
    return known[name.casefold()]
