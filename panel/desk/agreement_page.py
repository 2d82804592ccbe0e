"""Agreement of a session: the verdict, then the field of notes and people, or a list of both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import ContentSwitcher, Static

from panel.desk.agreement_field import AgreementField, Chosen, signs_of_session
from panel.desk.agreement_list import COLUMNS, Judged, JudgedTable, judged
from panel.desk.agreement_signs import KEY, with_sessions
from panel.desk.big_table import BigTable
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.late_words import LateWords
from panel.desk.page import Follows, Page
from panel.desk.pick import PickPage
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from analysis.agreement import Agreement
    from panel.desk.page import Drawn, Handed
    from panel.questions.own_means import OwnMeans


class AgreementPage(Page):
    """Whom and what to believe of one session."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "sessions"
    DEFAULT_CSS = """
    AgreementPage #verdict { height: auto; max-height: 9; padding: 0 1; text-style: bold; }
    AgreementPage #sentence { height: auto; min-height: 3; max-height: 6; padding: 0 1; }
    AgreementPage #key { height: auto; padding: 0 1; color: $secondary; }
    AgreementPage ContentSwitcher { height: 1fr; }
    AgreementPage Vertical { height: 1fr; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("v", "turn", "List", "agreement.turn", "The same as a list, or a field"),
        key("b", "two", "Two casks", "agreement.two", "Are two named casks alike?"),
        key("w", "swaps", "Swaps", "agreement.swaps", "Glasses that may be swapped"),
        key("x", "write_page", "Hand on", "agreement.hand_on", "Write a page of it into a file"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer(
            "agreement.lead_page",
            "A page for the lead",
            "write_page('lead')",
            "It names assessors",
        ),
    )

    @dataclass
    class Read(Message):
        """The session has been judged."""

        result: Agreement
        means: OwnMeans
        casks: tuple[str, ...]
        late: tuple[str, ...] = ()

    @dataclass
    class Compared(Message):
        """Two casks were held against each other, or could not be."""

        lines: list[str]

    def __init__(self, name: str) -> None:
        super().__init__()
        self.session_name = name
        self.result: Agreement | None = None
        self.means: OwnMeans = {}
        self.casks: tuple[str, ...] = ()

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of this session."""
        from panel.desk.handing import session_page

        return session_page(self.desk, self.session_name, reader)

    def body(self) -> ComposeResult:
        """The verdict, the field with its key, or the list, and a sentence below."""
        yield Static(id="verdict")
        yield LateWords()
        with ContentSwitcher(initial="field-view"):
            with Vertical(id="field-view"):
                yield AgreementField(id="field")
                yield Static(Content("\n".join(KEY)), id="key")
            with Vertical(id="list-view"):
                yield JudgedTable(
                    COLUMNS, name_of=lambda j: j.place, empty="Nothing could be judged.", id="list"
                )
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"Agreement of {self.session_name}")
        self.query_one("#field").focus()
        self.say("Reckoning; the other places can be used meanwhile ...")

    @work(thread=True, exclusive=True, group="agreement", exit_on_error=False)
    def read(self) -> None:
        """Judge the session."""
        from panel.questions.agreement import session_agreement
        from panel.questions.own_means import own_means
        from panel.questions.two_casks import casks_poured
        from panel.session.reopened import reopened_lines

        with self.reckoning(), self.desk.store.read() as db:
            result = session_agreement(db, self.session_name)
            means = own_means(db, self.session_name)
            casks = casks_poured(db, self.session_name)
            late = reopened_lines(db, [self.session_name])
        self.hand_over(self.Read(result, means, casks, late))

    def on_agreement_page_read(self, message: Read) -> None:
        """Show the verdict, the field and the list."""
        result = self.result = message.result
        self.means, self.casks = message.means, message.casks
        self.head(fact=f"{result.n_assessors} assessors, {result.n_samples} samples")
        self.query_one("#verdict", Static).update(Content(verdict_words(result)))
        self.query_one(LateWords).tell(message.late)
        self.query_one(AgreementField).fill(signs_of_session(result))
        self.query_one(JudgedTable).fill(judged(result))
        self.refresh_bindings()
        left_out = ", ".join(f"{count} {why}" for why, count in result.left_out.items())
        said = [result.waiting.sentence] if result.waiting else []
        self.say(" ".join([*said, *([f"Left out: {left_out}."] if left_out else [])]))

    def can_now(self, action: str) -> bool:
        """Offer swaps only where there are any, two casks once it is known which they were."""
        if action == "two":
            return len(self.casks) > 1
        return action != "swaps" or bool(self.result and self.result.swaps)

    def tell(self, sentence: str) -> None:
        """Show a sentence under the field or the list."""
        self.query_one("#sentence", Static).update(Content(sentence))

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Show the whole sentence of the line."""
        if self.query_one(ContentSwitcher).current == "list-view":
            self.tell(event.row.sentence)

    @on(AgreementField.Moved)
    def chose(self, event: AgreementField.Moved) -> None:
        """Show the sentence of the cell."""
        if self.result is not None and self.query_one(ContentSwitcher).current == "field-view":
            self.tell(cell_sentence(self.result, event.chosen))

    @on(AgreementField.Opened)
    def enter(self, event: AgreementField.Opened) -> None:
        """Go into a note; from the line of all notes to the person."""
        self.go_in(event.chosen.descriptor, event.chosen.assessor)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Go into the line."""
        row: Judged = event.row
        about_note = row.about == "descriptor"
        self.go_in(row.name if about_note else None, None if about_note else row.name)

    def go_in(self, descriptor: str | None, assessor: str | None) -> None:
        """Show one note with everybody side by side, or one person."""
        if self.result is None:
            return
        if descriptor is not None:
            page = page_of("side by side", self.result, self.means, descriptor, assessor)
            self.app.push_screen(page)
        elif assessor is not None:
            self.app.push_screen(page_of("assessor", self.result.assessor(assessor), self.result))

    def drawn_as(self) -> Drawn | None:
        """Every glass on the line of every note."""
        result = self.result
        if result is None:
            return None
        from panel.pictures.sessions import pictures_of

        return f"Session {result.session}", lambda _db: pictures_of(result)

    def action_turn(self) -> None:
        """Change between field and list."""
        switch = self.query_one(ContentSwitcher)
        switch.current = "list-view" if switch.current == "field-view" else "field-view"
        self.query_one("#list" if switch.current == "list-view" else "#field").focus()
        self.again_in_words()

    def again_in_words(self) -> None:
        """Show the sentence of what the cursor of the view in front stands on."""
        table, field = self.query_one(JudgedTable), self.query_one(AgreementField)
        if self.query_one(ContentSwitcher).current == "list-view":
            self.tell(table.current.sentence if table.current else "")
        elif self.result is not None and field.chosen is not None:
            self.tell(cell_sentence(self.result, field.chosen))

    def action_two(self) -> None:
        """Ask for two casks and hold them against each other."""
        page = PickPage(
            "Which two casks?",
            self.casks,
            (Column("Cask", 20, str, stretch=True),),
            name_of=str,
            place="sessions",
            many=True,
        )
        self.app.push_screen(page, self.take_two)

    def take_two(self, names: tuple[str, ...] | None) -> None:
        """Go on with two; more or fewer are no pair."""
        if names and len(names) == 2:
            self.compare((names[0], names[1]))
        elif names:
            self.say("Tick two casks, no more and no fewer.")

    @work(thread=True, exclusive=True, group="two casks", exit_on_error=False)
    def compare(self, named: tuple[str, str]) -> None:
        """Hold two casks against each other."""
        from panel.questions.two_casks import two_named_casks
        from panel.words.two_casks import two_casks_lines

        with self.reckoning(), self.desk.store.read() as db:
            found = two_named_casks(db, [self.session_name], named)
        self.hand_over(self.Compared(two_casks_lines(found, 70)))

    def on_agreement_page_compared(self, message: Compared) -> None:
        """Show how two casks lie to each other."""
        self.app.push_screen(ReadSlip("Two casks named beforehand", message.lines))

    def action_swaps(self) -> None:
        """Show the glasses that may have changed places, with and without."""
        from panel.words.answers import paragraph

        swaps = self.result.swaps if self.result else ()
        lines = [line for swap in swaps for line in (*paragraph(swap.sentence, 70), "")]
        self.app.push_screen(ReadSlip("Glasses that may have changed places", lines))


def verdict_words(result: Agreement) -> str:
    """Return the session's verdict, or what few people can be asked to decide."""
    from analysis.agreement import PanelWord

    said = result.small_panel.sentence if result.small_panel else result.verdict.sentence
    parts = [said, result.order.sentence]
    if result.verdict.word is PanelWord.ORDER:
        parts = [result.order.sentence]
    return " ".join([f"{result.verdict.label.upper()}.", *(part for part in parts if part)])


def cell_sentence(result: Agreement, chosen: Chosen) -> str:
    """Return the sentence of one cell of the field."""
    from panel.words.note_words import note_sentence

    person = result.assessor(chosen.assessor) if chosen.assessor is not None else None
    if chosen.descriptor is None:
        said = result.verdict
        return with_sessions(person) if person else f"{said.label}: {said.next_action}."
    note = result.descriptor(chosen.descriptor)
    if person is None:
        return with_sessions(note)
    theirs = next(part for part in person.notes if part.descriptor == note.descriptor)
    return note_sentence(person.assessor, theirs, note)
