"""Agreement of a session: the verdict, then sentences, the figures behind each by Enter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import work
from textual.app import ComposeResult
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from panel.desk.page import Page
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analysis.agreement import Agreement

FIGURES_WIDTH = 70


class AgreementPage(Page):
    """Whom and what to believe of one session."""

    PLACE = "sessions"
    DEFAULT_CSS = """
    AgreementPage #verdict { height: auto; max-height: 6; padding: 0 1; text-style: bold; }
    AgreementPage OptionList { height: 1fr; border: none; background: $background; padding: 0; }
    AgreementPage OptionList:focus { border: none; }
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
        """The verdict above, the sentences below."""
        yield Static(id="verdict")
        yield OptionList(markup=False)

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"Agreement of {self.session_name}")
        self.query_one(OptionList).focus()
        self.say("Reckoning; the other places can be used meanwhile ...")

    @work(thread=True, exclusive=True, group="agreement", exit_on_error=False)
    def read(self) -> None:
        """Judge the session."""
        from panel.report.reckoning import session_agreement

        with self.desk.store.read() as db:
            result = session_agreement(db, self.session_name)
        self.hand_over(self.Read(result))

    def on_agreement_page_read(self, message: Read) -> None:
        """Show the verdict and the sentences."""
        result = self.result = message.result
        self.head(fact=f"{result.n_assessors} assessors, {result.n_samples} samples")
        verdict = f"{result.verdict.upper()}. {result.sentence} {result.next_action}"
        self.query_one("#verdict", Static).update(Content(verdict.strip()))
        listed = self.query_one(OptionList)
        listed.clear_options()
        listed.add_options(list(options_of(result)))
        left_out = ", ".join(f"{n} {why}" for why, n in result.left_out.items())
        self.say(f"Left out: {left_out}." if left_out else "Enter shows the figures.")

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Show the figures behind a sentence."""
        from panel.report.answers import assessor_lines, descriptor_lines

        if self.result is None or event.option_id is None:
            return
        what, _, place = event.option_id.partition(":")
        if what == "d":
            note = self.result.descriptors[int(place)]
            lines = descriptor_lines(note, FIGURES_WIDTH)
            self.app.push_screen(ReadSlip(note.descriptor, lines))
        else:
            person = self.result.assessors[int(place)]
            lines = assessor_lines(person, FIGURES_WIDTH)
            self.app.push_screen(ReadSlip(person.assessor, lines))


def options_of(result: Agreement) -> Iterator[Option]:
    """Yield a line or two a descriptor, then an assessor; headings cannot be chosen."""
    yield _heading("Descriptors")
    for place, note in enumerate(result.descriptors):
        words = sentence_of(note.descriptor, note.verdict, note.sentence, note.next_action)
        yield Option(words, id=f"d:{place}")
    yield _heading("Assessors")
    for place, person in enumerate(result.assessors):
        words = sentence_of(person.assessor, person.verdict, person.sentence, person.next_action)
        yield Option(words, id=f"a:{place}")


def _heading(words: str) -> Option:
    return Option(Content.styled(f"── {words}", "bold"), disabled=True)


def sentence_of(name: str, verdict: str, sentence: str, action: str) -> Content:
    """Return name and verdict in bold, then the sentence and what to do next."""
    return Content.assemble((f"{name}: {verdict}. ", "bold"), f"{sentence} {action}".strip())
