"""Several sessions together: who reads how over all of them, and who moves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.agreement_field import AgreementField, Chosen, signs_of_span
from panel.desk.agreement_signs import SPAN_KEY
from panel.desk.columns import WORDS_WIDTH
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.late_words import LateWords
from panel.desk.page import Follows, Page
from panel.desk.slip import ReadSlip
from panel.figures import in_digits

if TYPE_CHECKING:
    from analysis.agreement import Drift, Span
    from panel.desk.page import Drawn, Handed
    from panel.session.reopened import AfterReopening


class SpanPage(Page):
    """The field over several sessions; Enter shows the chart behind a cell."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "sessions"
    DEFAULT_CSS = """
    SpanPage #verdict { height: auto; max-height: 7; padding: 0 1; text-style: bold; }
    SpanPage #sentence { height: 4; padding: 0 1; }
    SpanPage #key { height: auto; padding: 0 1; color: $secondary; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("v", "words", "In words", "span.words", "All of it as sentences"),
        key("x", "write_page", "Hand on", "span.hand_on", "Write a page of it into a file"),
    ]

    @dataclass
    class Read(Message):
        """The sessions have been judged."""

        result: Span
        late: Mapping[str, AfterReopening | None]

    @dataclass
    class Along(Message):
        """So many sessions are judged."""

        done: int
        of: int

    def __init__(self, names: Sequence[str]) -> None:
        super().__init__()
        self.names = tuple(names)
        self.result: Span | None = None
        self.late: tuple[str, ...] = ()

    def body(self) -> ComposeResult:
        """The verdict, the field, its key, the sentence of the cell."""
        yield Static(id="verdict")
        yield LateWords()
        yield AgreementField()
        yield Static(Content("\n".join(SPAN_KEY)), id="key")
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        count = len(self.names)
        self.head(f"{count} {'session' if count == 1 else 'sessions'} together")
        self.say("Reckoning; the other places can be used meanwhile ...")

    def handed_on(self, reader: str) -> Handed | None:
        """Return the lead's page of these sessions."""
        from panel.desk.handing import panel_page

        return panel_page(self.desk, self.names)

    @work(thread=True, exclusive=True, group="span", exit_on_error=False)
    def read(self) -> None:
        """Judge the sessions."""
        from panel.questions.agreement import span_agreement
        from panel.session.reopened import after_reopening

        with self.reckoning(), self.desk.store.read() as db:
            result = span_agreement(db, self.names, progress=self.tell)
            late = {name: after_reopening(db, name) for name in self.names}
        self.hand_over(self.Read(result, late))

    def tell(self, done: int, of: int) -> None:
        """Send how far the job is; called from the job."""
        self.hand_over(self.Along(done, of))

    def on_span_page_along(self, message: Along) -> None:
        """Show how far the job is."""
        if self.result is None:
            self.say(f"Reckoning, {message.done} of {message.of} sessions ...")

    def on_span_page_read(self, message: Read) -> None:
        """Show the field."""
        from panel.session.reopened import late_lines
        from panel.words.left_out import before_words, reopened_in_short

        result, self.late = message.result, late_lines(message.late)
        self.result = result
        reopened = [name for name, found in message.late.items() if found is not None]
        # What came after each would leave no room for the field: `v` tells it.
        late = self.late if len(reopened) < 2 else (reopened_in_short(reopened),)
        self.query_one(LateWords).tell(late)
        self.head(fact=f"{result.first} to {result.last}")
        said = [result.sentence, before_words(result)]
        self.query_one("#verdict", Static).update(Content("\n".join(part for part in said if part)))
        self.refresh_bindings()
        self.query_one(AgreementField).fill(signs_of_span(result))
        self.say(
            ""
            if result.drift
            else "No hidden reference was poured: whether everybody moves at once is not known."
        )

    @on(AgreementField.Moved)
    def moved(self, event: AgreementField.Moved) -> None:
        """Show the sentence of the cell."""
        if self.result is not None:
            said = cell_sentence(self.result, event.chosen)
            self.query_one("#sentence", Static).update(Content(said))

    @on(AgreementField.Opened)
    def open(self, event: AgreementField.Opened) -> None:
        """Show the chart behind the cell, or say why there is none."""
        if self.result is None:
            return
        drift = drift_of(self.result, event.chosen)
        who = event.chosen.assessor or "the panel"
        what = event.chosen.descriptor or "all notes"
        if drift is None:
            self.say(f"{who} on {what}: no glass to go by.")
        elif drift.reason is not None:
            self.say(f"{who} on {what}: {drift.reason}.")
        else:
            self.app.push_screen(page_of("drift", drift, f"{who} on {what}"))

    def drawn_as(self) -> Drawn | None:
        """Everybody session by session, and the panel on the hidden reference."""
        result = self.result
        if result is None:
            return None
        from panel.pictures.people import moving

        return f"Moving {result.first} to {result.last}", lambda _: moving(result)

    def action_words(self) -> None:
        """Show all sentences."""
        from panel.words.agreement_words import span_lines
        from panel.words.answers import paragraph

        if self.result is not None:
            told = [line for words in self.late for line in paragraph(words, WORDS_WIDTH)]
            lines = [*span_lines(self.result, WORDS_WIDTH), *told]
            self.app.push_screen(ReadSlip(f"{self.result.first} to {self.result.last}", lines))


def cell_sentence(result: Span, chosen: Chosen) -> str:
    """Return the sentence of one cell of the field."""
    if chosen.assessor is None:
        if chosen.descriptor is None:
            moving = result.drift and result.drift.verdict
            return moving.sentence if moving else f"Next: {result.next_action}."
        return result.descriptor(chosen.descriptor).verdict.sentence
    person = result.assessor(chosen.assessor)
    if chosen.descriptor is None:
        return person.verdict.sentence
    note = next(part for part in person.notes if part.descriptor == chosen.descriptor)
    if note.drift is not None and note.drift.verdict is not None:
        return note.drift.verdict.sentence
    said = note.verdict or f"not judged, {note.reason}"
    slope = "" if note.slope is None else f" Slope {in_digits(note.slope, '.2f')} on the others."
    share = (
        ""
        if note.signal_share is None
        else (f" Signal share {in_digits(note.signal_share, '.2f')}.")
    )
    count = "1 session" if note.n_sessions == 1 else f"{note.n_sessions} sessions"
    return f"{person.assessor} on {note.descriptor}: {said}, {count}.{slope}{share}"


def drift_of(result: Span, chosen: Chosen) -> Drift | None:
    """Return the chart of one cell of the field."""
    if chosen.assessor is None:
        if chosen.descriptor is None:
            return result.drift
        return result.descriptor(chosen.descriptor).drift
    person = result.assessor(chosen.assessor)
    if chosen.descriptor is None:
        return person.drift
    return next(part.drift for part in person.notes if part.descriptor == chosen.descriptor)
