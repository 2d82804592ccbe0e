"""One assessor's own page: what was said, what was found, how steady; never a rank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import ContentSwitcher, Static
from textual.worker import Worker, WorkerState

from panel.desk.agreement_signs import sign_of_note, with_sessions
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.keys import key
from panel.desk.own_moving import ShowsMoving
from panel.desk.page import Follows
from panel.desk.pin_slip import PrivateSlip
from panel.desk.slip import ReadSlip
from panel.figures import sentence_here

if TYPE_CHECKING:
    from analysis.agreement import Agreement, AssessorAgreement, AssessorNote, EveningNote


def figure(value: float | None, places: int) -> str:
    """Return a figure, or a dash where there is none."""
    return "-" if value is None else f"{value:.{places}f}"


def said_of(note: AssessorNote) -> str:
    """Return sign and verdict of a note, or why nobody is judged by it."""
    from panel.words.agreement_words import short_word

    why = note.reason.said if note.reason else "-"
    word = short_word(note.verdict) if note.verdict else why
    return f"{sign_of_note(note)}  {word}"


COLUMNS: tuple[Column[AssessorNote], ...] = (
    Column("Descriptor", 18, lambda n: n.descriptor),
    Column("Verdict", 26, said_of),
    Column("Clear", 5, lambda n: figure(n.signal_share, 2), lambda n: n.signal_share, True),
    Column("Order", 5, lambda n: figure(n.correlation, 2), lambda n: n.correlation, True),
    Column("Slope", 5, lambda n: figure(n.slope, 2), lambda n: n.slope, True),
    Column("Repeat", 6, lambda n: figure(n.repeat_sd, 1), lambda n: n.repeat_sd, True),
    Column("Width", 5, lambda n: figure(n.span, 0), lambda n: n.span, True),
    Column("Highness", 8, lambda n: figure(n.offset, 1), lambda n: n.offset, True),
    Column("Blank", 5, lambda n: str(n.n_missing), lambda n: n.n_missing, True),
)


class NoteTable(BigTable["AssessorNote"]):
    """A line a descriptor, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class AssessorPage(ShowsMoving):
    """The note that this person takes home, and behind v the figures."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "sessions"
    DEFAULT_CSS = """
    AssessorPage #sentence { height: auto; max-height: 6; padding: 0 1; text-style: bold; }
    AssessorPage #note { padding: 1 1; }
    AssessorPage #line { height: 3; padding: 0 1; }
    AssessorPage ContentSwitcher { height: 1fr; }
    AssessorPage Vertical { height: 1fr; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("v", "turn", "Figures", "assessor.turn", "Figures, or the note again"),
        key("q", "private", "Private", "assessor.private", "With the lead's PIN"),
        key("w", "meanings", "Columns", "assessor.meanings", "In words"),
    ]

    @dataclass
    class Read(Message):
        """The note of the evening is written."""

        note: EveningNote

    def __init__(self, person: AssessorAgreement, result: Agreement) -> None:
        super().__init__()
        self.person, self.result = person, result
        self.note: EveningNote | None = None

    @property
    def whose(self) -> str:
        """Who is drawn by f6."""
        return self.person.assessor

    def body(self) -> ComposeResult:
        """The sentence above, below it the note or the figures."""
        yield Static(Content(with_sessions(self.person)), id="sentence")
        with ContentSwitcher(initial="note-view"):
            with VerticalScroll(id="note-view"):
                yield Static(Content("Writing the note of the evening ..."), id="note")
            with Vertical(id="figures-view"):
                yield NoteTable(
                    COLUMNS, name_of=lambda n: n.descriptor, empty="No descriptor scored."
                )
                yield Static(id="line")

    def set_up(self) -> None:
        """Show the figures at once; the note comes when it is written."""
        super().set_up()
        self.head(f"{self.person.assessor} in {self.result.session}", self.person.verdict.label)
        self.query_one(NoteTable).fill(self.person.notes)
        self.query_one("#note-view").focus()

    @work(thread=True, exclusive=True, group="evening", exit_on_error=False)
    def read(self) -> None:
        """Write the note of the evening."""
        from panel.questions.agreement import evening_note_of

        with self.desk.store.read() as db:
            note = evening_note_of(db, self.result.session, self.person.assessor)
        self.hand_over(self.Read(note))

    def on_assessor_page_read(self, message: Read) -> None:
        """Show the note."""
        self.note = message.note
        self.on_resize()

    def on_resize(self) -> None:
        """Fold the note to the width there is."""
        from panel.words.agreement_words import evening_lines

        if self.note is not None:
            lines = evening_lines(self.note, max(self.size.width - 4, 40))
            self.query_one("#note", Static).update(Content("\n".join(lines)))

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Where there is no note, say why and show the figures."""
        super().on_worker_state_changed(event)
        if event.state is WorkerState.ERROR and self.note is None:
            self.query_one("#note", Static).update(Content("There is no note yet."))
            self.show("figures-view")

    def action_turn(self) -> None:
        """Change between note and figures."""
        now = self.query_one(ContentSwitcher).current
        self.show("figures-view" if now == "note-view" else "note-view")

    def show(self, view: str) -> None:
        """Show the note or the figures."""
        self.query_one(ContentSwitcher).current = view
        self.query_one(NoteTable if view == "figures-view" else "#note-view").focus()

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Say the line in words."""
        from panel.words.note_words import note_sentence

        note: AssessorNote = event.row
        panel = self.result.descriptor(note.descriptor)
        said = note_sentence(self.person.assessor, note, panel)
        self.query_one("#line", Static).update(Content(said))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show one note in full."""
        from panel.words.answers import paragraph
        from panel.words.note_words import note_sentence

        note: AssessorNote = event.row
        said = note_sentence(self.person.assessor, note, self.result.descriptor(note.descriptor))
        self.app.push_screen(ReadSlip(note.descriptor, paragraph(said, 70)))

    def action_meanings(self) -> None:
        """Say what the columns mean."""
        self.app.push_screen(ReadSlip("How to read this", tuple(map(sentence_here, MEANINGS))))

    def action_private(self) -> None:
        """Ask for the PIN, then show what is for this person and the lead only."""

        def answered(known: bool | None) -> None:
            if known:
                lines = private_words(self.result, self.person.assessor)
                self.app.push_screen(ReadSlip(f"{self.person.assessor}, private", lines))

        self.app.push_screen(PrivateSlip(self.person.assessor), answered)


def private_words(result: Agreement, assessor: str) -> Sequence[str]:
    """Return what is for one person and the lead only."""
    from panel.words.answers import private_lines

    facts = [fact for fact in result.private if fact.assessor == assessor]
    return private_lines(facts, 70)[1:]


MEANINGS = (
    "Clear: how much of the variance of this person's scores on unlike",
    "  samples the note makes, by the last sessions; 0.25 is asked for.",
    "Order: correlation with the means of the other assessors.",
    "Slope: points on this line for one point of the others; 1 is alike,",
    "  above 1 a wider line, below 1 a narrower one.",
    "Repeat: standard deviation between two nosings of one glass, points.",
    "Width: from the lowest to the highest sample, points.",
    "Highness: how much higher or lower than the others on the whole.",
    "Blank: lines that were not scored.",
)
