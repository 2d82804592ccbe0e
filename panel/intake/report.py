"""What a load did, or what is at fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from panel.figures import in_digits
from panel.intake.day_order import DatesTaken
from panel.intake.headings import OwnHeading
from panel.intake.kinds import Kind
from panel.intake.letters import Letters
from panel.problems import Problem


@dataclass(frozen=True)
class LoadReport:
    """What a load did. `accepted` are new rows; without problems the three counts are all rows.

    `questions` are oddities that may be so: they keep nothing out.
    """

    kind: Kind
    file: str
    sha256: str
    rows: int
    accepted: int = 0
    changed: int = 0
    unchanged: int = 0
    created: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    more_problems: int = 0
    written: bool = False
    doubts: int = 0
    """How many of the problems are values that are hardly so; `sure` takes them."""
    questions: tuple[Problem, ...] = ()
    heading_row: int = 0
    rows_above: int = 0
    """How many filled rows above the headings were passed over."""
    headings: tuple[OwnHeading, ...] = ()
    """The file's own headings that stand for a column of ours."""
    strangers: tuple[str, ...] = ()
    """Headings of the file of which nobody knows whose column they are."""
    dates: tuple[DatesTaken, ...] = ()
    """Columns whose dates have the year last, and how they were read."""
    commas: Mapping[str, str] = field(default_factory=dict)
    """Columns in which a comma was read as the decimal mark: a number of each."""
    open_dates: Mapping[str, str] = field(default_factory=dict)
    """Columns in which no date settles the order: a date of each that could be two."""
    letters: Letters | None = None
    """In which letters the file was written, where it was not UTF-8."""

    def sentence(self) -> str:
        """Return the counts as a person reads them."""
        counts = (
            f"{in_digits(self.accepted, ',')} new, "
            f"{in_digits(self.changed, ',')} changed, {in_digits(self.unchanged, ',')} unchanged"
        )
        return f"{self.kind.value}: {counts}"
