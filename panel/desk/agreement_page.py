"""Agreement of a session: the verdict, a line a descriptor and an assessor, figures by Enter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.page import Page
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from analysis.agreement import Agreement

FIGURES_WIDTH = 70


@dataclass(frozen=True)
class Judged:
    """What is said of one descriptor or one assessor, in the order of the page."""

    place: int
    about: str
    name: str
    verdict: str
    figure: str
    sentence: str


COLUMNS: tuple[Column[Judged], ...] = (
    Column("About", 10, lambda j: j.about, lambda j: j.place),
    Column("Name", 18, lambda j: j.name),
    Column("Verdict", 28, lambda j: j.verdict),
    Column("Figure", 20, lambda j: j.figure, stretch=True),
)


class JudgedTable(BigTable[Judged]):
    """Descriptors first, then assessors, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


def judged(result: Agreement) -> Iterator[Judged]:
    """Yield the descriptors, then the assessors."""
    for place, note in enumerate(result.descriptors):
        figure = _reliability(note.reliability, note.reliability_low)
        yield Judged(place, "descriptor", note.descriptor, note.verdict, figure, note.sentence)
    for place, person in enumerate(result.assessors, len(result.descriptors)):
        known = person.correlation is not None
        figure = f"with others {person.correlation:.2f}" if known else ""
        yield Judged(place, "assessor", person.assessor, person.verdict, figure, person.sentence)


def _reliability(value: float | None, low: float | None) -> str:
    if value is None:
        return ""
    least = "" if low is None else f" (≥ {low:.2f})"
    return f"reliability {value:.2f}{least}"


class AgreementPage(Page):
    """Whom and what to believe of one session."""

    PLACE = "sessions"
    DEFAULT_CSS = """
    AgreementPage #verdict { height: auto; max-height: 5; padding: 0 1; text-style: bold; }
    AgreementPage #sentence {
        height: 5; padding: 0 1; border-top: solid $secondary; color: $foreground;
    }
    """

    @dataclass
    class Read(Message):
        """The session has been judged."""

        result: Agreement

    def __init__(self, name: str) -> None:
        super().__init__()
        self.session_name = name
        self.result: Agreement | None = None

    def body(self) -> ComposeResult:
        """The verdict, a line each, the sentence of the line of the arrow."""
        yield Static(id="verdict")
        yield JudgedTable(COLUMNS, name_of=lambda j: j.place, empty="Nothing could be judged.")
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"Agreement of {self.session_name}")
        self.say("Reckoning; the other places can be used meanwhile ...")

    @work(thread=True, exclusive=True, group="agreement", exit_on_error=False)
    def read(self) -> None:
        """Judge the session."""
        from panel.report.reckoning import session_agreement

        with self.desk.store.read() as db:
            result = session_agreement(db, self.session_name)
        self.hand_over(self.Read(result))

    def on_agreement_page_read(self, message: Read) -> None:
        """Show the verdict and the lines."""
        result = self.result = message.result
        self.head(fact=f"{result.n_assessors} assessors, {result.n_samples} samples")
        verdict = Content(f"{result.verdict.upper()}. {result.sentence}")
        self.query_one("#verdict", Static).update(verdict)
        self.query_one(JudgedTable).fill(judged(result))
        left_out = ", ".join(f"{count} {why}" for why, count in result.left_out.items())
        self.say(f"Left out: {left_out}." if left_out else "")

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Show the whole sentence of the line."""
        self.query_one("#sentence", Static).update(Content(event.row.sentence))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show the figures behind a line."""
        from panel.report.answers import descriptor_lines

        if self.result is None:
            return
        row: Judged = event.row
        notes = self.result.descriptors
        if row.place < len(notes):
            lines = descriptor_lines(notes[row.place], FIGURES_WIDTH)
            self.app.push_screen(ReadSlip(row.name, lines))
        else:
            from panel.desk.assessor_page import AssessorPage

            person = self.result.assessors[row.place - len(notes)]
            self.app.push_screen(AssessorPage(person, self.session_name))
