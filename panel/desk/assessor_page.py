"""One assessor in a session: the sentence, then a line a descriptor."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.page import Page
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from analysis.agreement import AssessorAgreement, AssessorNote


def figure(value: float | None, places: int) -> str:
    """Return a figure, or a dash where there is none."""
    return "-" if value is None else f"{value:.{places}f}"


COLUMNS: tuple[Column[AssessorNote], ...] = (
    Column("Descriptor", 18, lambda n: n.descriptor),
    Column("Verdict", 26, lambda n: n.verdict or n.reason or "-"),
    Column("Like others", 11, lambda n: figure(n.correlation, 2), lambda n: n.correlation, True),
    Column("Slope", 5, lambda n: figure(n.slope, 2), lambda n: n.slope, True),
    Column("Repeat", 6, lambda n: figure(n.repeat_sd, 1), lambda n: n.repeat_sd, True),
    Column("Width", 5, lambda n: figure(n.span, 0), lambda n: n.span, True),
    Column("Offset", 6, lambda n: figure(n.offset, 1), lambda n: n.offset, True),
    Column("Blank", 6, lambda n: str(n.n_missing), lambda n: n.n_missing, True),
)


class NoteTable(BigTable["AssessorNote"]):
    """A line a descriptor, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class AssessorPage(Page):
    """What one assessor made of each descriptor."""

    PLACE = "sessions"
    DEFAULT_CSS = "AssessorPage #sentence { height: auto; padding: 0 1; text-style: bold; }"

    def __init__(self, person: AssessorAgreement, session: str) -> None:
        super().__init__()
        self.person, self.session_name = person, session

    def body(self) -> ComposeResult:
        """The sentence above, the figures below."""
        yield Static(Content(self.person.sentence), id="sentence")
        yield NoteTable(COLUMNS, name_of=lambda n: n.descriptor, empty="No descriptor scored.")

    def set_up(self) -> None:
        """Show the notes."""
        super().set_up()
        self.head(f"{self.person.assessor} in {self.session_name}", self.person.verdict)
        self.query_one(NoteTable).fill(self.person.notes)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Say what the columns mean."""
        self.app.push_screen(ReadSlip("How to read this", MEANINGS))


MEANINGS = (
    "Like others: correlation with the means of the other assessors.",
    "Slope: points on this line for one point of the others; 1 is alike,",
    "  above 1 a wider line, below 1 a narrower one.",
    "Repeat: standard deviation between two nosings of one glass, points.",
    "Width: from the lowest to the highest sample, points.",
    "Offset: how much higher or lower than the others on the whole.",
    "Blank: lines that were not scored.",
)
