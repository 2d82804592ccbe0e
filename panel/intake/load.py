"""One load under way: where it writes, what it found, what it changed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from difflib import get_close_matches
from enum import Enum
from typing import Any, TypeVar

from sqlalchemy import select
from sqlalchemy.orm import InstrumentedAttribute, Session

from panel.problems import Problem

MOST_PROBLEMS = 10_000
NEAREST_BUDGET = 3_000_000
ASKED_AT_ONCE = 400
ALL_FROM = 4_000
PROGRESS_EVERY = 500
Found = TypeVar("Found")
Progress = Callable[[int, int], None]


class RowOutcome(Enum):
    """What became of a row."""

    NEW = "new"
    CHANGED = "changed"
    UNCHANGED = "unchanged"


@dataclass
class Load:
    """What the checks of every kind need, and where they put what they find."""

    db: Session
    file: str
    today: date
    now: datetime
    by: str
    headings: frozenset[str]
    check: bool = False
    create: bool = False
    update: bool = False
    only_new: bool = False
    sure: bool = False
    """Whether somebody looked at the odd values and says that they are so."""
    progress: Progress = lambda _done, _total: None
    problems: list[Problem] = field(default_factory=list)
    left_out_problems: int = 0
    missed: frozenset[str] = frozenset()
    """Names that stand in faulty rows of the files before this one: they are not unknown."""
    unread: frozenset[str] = frozenset()
    """What a file before this one would have brought that could not be read, such as `cask`."""
    questions: list[Problem] = field(default_factory=list)
    unsound: Sequence[Any] = ()
    """Rows with faults, of which only what could be read is there (`panel.intake.partly`)."""
    tally: dict[RowOutcome, int] = field(default_factory=lambda: dict.fromkeys(RowOutcome, 0))
    created: dict[str, list[str]] = field(default_factory=dict)
    _budget: int = NEAREST_BUDGET
    _near: dict[tuple[str, str], str] = field(default_factory=dict)

    def fault(
        self, row: int, column: str, value: object, message: str, *, doubt: bool = False
    ) -> None:
        """Note a fault; past the ten thousandth only their number."""
        if len(self.problems) >= MOST_PROBLEMS:
            self.left_out_problems += 1
            return
        self.problems.append(Problem(self.file, row, column, _said(value), message, doubt=doubt))

    def doubt(self, row: int, column: str, value: object, message: str) -> None:
        """Note what is hardly so: a fault, until somebody says that it is."""
        if self.sure:
            self.question(row, column, value, message)
        else:
            self.fault(row, column, value, message, doubt=True)

    def question(self, row: int, column: str, value: object, message: str) -> None:
        """Note what is odd though it may be so: it is said and keeps nothing out."""
        if len(self.questions) < MOST_PROBLEMS:
            self.questions.append(Problem(self.file, row, column, _said(value), message))

    def going(self, rows: Sequence[Found]) -> Iterator[Found]:
        """Give the rows one by one and tell how far it is."""
        for done, row in enumerate(rows):
            if not done % PROGRESS_EVERY:
                self.progress(done, len(rows))
            yield row

    def count(self, outcome: RowOutcome, rows: int = 1) -> None:
        """Count rows by what became of them."""
        self.tally[outcome] += rows

    def present(self, values: Mapping[str, tuple[str, Any]]) -> dict[str, Any]:
        """Return the values by attribute whose columns stand in the file.

        *values* gives the column and the value of each attribute. An absent column leaves what
        is recorded untouched.
        """
        return {name: value for name, (column, value) in values.items() if column in self.headings}

    def unknown(
        self, row: int, column: str, name: str, what: str, names: Callable[[], Iterable[str]]
    ) -> None:
        """Note a name that the records do not have, with the nearest that they have."""
        if name in self.missed or what in self.unread:
            return
        near = self.nearest(name, what, names)
        self.fault(row, column, name, f"there is no {what} of this name{near}")

    def nearest(self, name: str, what: str, names: Callable[[], Iterable[str]]) -> str:
        """Return `; nearest: ...` for an unknown name, in words also where there is none."""
        near = self._near.get((what, name))
        if near is None:
            near = self._near[what, name] = self._nearest(name, list(names()))
        return near

    def _nearest(self, name: str, names: Sequence[str]) -> str:
        if not names:
            return "; none are recorded yet"
        self._budget -= len(names)
        if self._budget < 0:
            return ""
        said = name.casefold()
        close = [one for one in names if one.casefold() == said]
        close = close or [one for one in names if one.casefold().startswith(f"{said}/")]
        close = close or get_close_matches(name, names, n=1, cutoff=0.5)
        return f"; nearest: {close[0]}" if close else ""


def _said(value: object) -> str:
    return "" if value is None else str(value)


def change(record: object, values: Mapping[str, Any]) -> bool:
    """Set the attributes that differ; say whether any did."""
    changed = False
    for name, value in values.items():
        if getattr(record, name) != value:
            setattr(record, name, value)
            changed = True
    return changed


def fetch(
    db: Session,
    statement: Any,
    column: InstrumentedAttribute[Any],
    wanted: Iterable[Any],
) -> list[Any]:
    """Return the records of *statement* whose *column* is one of *wanted*, asked in portions."""
    values = sorted(set(wanted))
    if len(values) > ALL_FROM:
        keep = set(values)
        found = db.scalars(statement)
        return [one for one in found if getattr(one, column.key, one) in keep]
    return [
        record
        for start in range(0, len(values), ASKED_AT_ONCE)
        for record in db.scalars(statement.where(column.in_(values[start : start + ASKED_AT_ONCE])))
    ]


def all_names(db: Session, column: InstrumentedAttribute[str]) -> Callable[[], list[str]]:
    """Return a way to fetch every name of a column, used only where one was not found."""
    return lambda: list(db.scalars(select(column)))


def refuse_twins(
    load: Load,
    rows: Iterable[Any],
    key_of: Callable[[Any], Any],
    column: str,
    what: Callable[[Any], str],
) -> None:
    """Note rows that carry the key of an earlier one; a row without a key has None.

    Rows with faults count as well, as far as their keys could be read.
    """
    seen: dict[Any, list[int]] = defaultdict(list)
    for row in sorted((*rows, *load.unsound), key=lambda row: row.at):
        try:
            key = key_of(row)
        except AttributeError:
            continue  # what makes its key could not be read
        if key is not None:
            seen[key].append(row.at)
    for key, numbers in seen.items():
        for number in numbers[1:]:
            load.fault(number, column, "", f"{what(key)} stands in row {numbers[0]} already")
