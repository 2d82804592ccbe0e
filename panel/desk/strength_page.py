"""Strength arithmetic: what is reckoned is chosen, and its answer follows what is typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import on, work
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, Static

from panel.desk.entries import ChoiceLine, Field
from panel.desk.form import FieldLine, FormPage
from panel.desk.page import Page
from panel.desk.strength_asked import QUESTIONS, Question
from panel.desk.typed import as_number

if TYPE_CHECKING:
    from textual.app import ComposeResult

BY_WORDS = {question.words: question for question in QUESTIONS.values()}
ASKED = Field("asked", "Reckon", "← and → choose", choices=tuple(BY_WORDS))


class StrengthPage(FormPage):
    """One question at a time, with its own fields; nothing is written."""

    ONLY_ASKS = True
    PLACE = "casks"
    TITLE_WORDS = "Strength arithmetic, by OIML R 22"
    DEFAULT_CSS = """
    StrengthPage #fields { height: auto; }
    StrengthPage #answer { height: auto; padding: 1 1 0 1; text-style: bold; }
    StrengthPage #caution { height: auto; padding: 1 1 0 1; color: $secondary; }
    """

    @dataclass
    class Answered(Message):
        """The answer, or why there is none."""

        words: str

    def body(self) -> ComposeResult:
        """What is reckoned, its fields, the answer, the caution."""
        from panel.words.strength_words import CAUTION

        with VerticalScroll(can_focus=False):
            yield FieldLine(ASKED)
            with Vertical(id="fields"):
                for field in next(iter(BY_WORDS.values())).fields:
                    yield FieldLine(field)
            yield Static(id="answer")
            yield Static(Content(CAUTION), id="caution")

    def set_up(self) -> None:
        """Stand on the choice."""
        super().set_up()
        self.lines[0].entry.focus()
        self.reckon()

    def can_now(self, action: str) -> bool:
        """Nothing is kept here."""
        return False if action == "keep" else super().can_now(action)

    def action_back(self) -> None:
        """Leave at once: there is nothing to lose."""
        Page.action_back(self)

    @property
    def question(self) -> Question:
        """What is reckoned."""
        return BY_WORDS[self.lines[0].entry.value]

    @on(ChoiceLine.Changed)
    async def turned(self, event: ChoiceLine.Changed) -> None:
        """Show the fields of another question, or reckon with another unit."""
        if event.line is self.lines[0].entry:
            fields = self.query_one("#fields", Vertical)
            await fields.remove_children()
            await fields.mount(*(FieldLine(field) for field in self.question.fields))
        self.reckon()

    @on(Input.Changed)
    def typed(self) -> None:
        """Reckon with what stands there now."""
        self.reckon()

    def reckon(self) -> None:
        """Say what is wanted still, or reckon."""
        values, question = self.values(), self.question
        given = {field.name: as_number(values.get(field.name)) for field in question.numbers}
        wrong = [line for line in self.lines if line.field.name in values and self._bad(line)]
        for line in self.lines:
            line.show_fault("not a number" if line in wrong else None)
        wanted = _wanted(question, values)
        if wrong or wanted:
            self.show(f"Wanted still: {', '.join(wanted)}." if wanted else "")
            return
        numbers = {name: number for name, number in given.items() if number is not None}
        self.answer(question, numbers, values)

    def _bad(self, line: FieldLine) -> bool:
        return not line.field.choices and as_number(line.entry.value.strip()) is None

    @work(thread=True, exclusive=True, group="strength", exit_on_error=False)
    def answer(
        self, question: Question, given: Mapping[str, float], chosen: Mapping[str, str]
    ) -> None:
        """Reckon in a job: the tables are loaded the first time."""
        from analysis.errors import AnalysisError
        from panel.errors import OakpanelError

        try:
            words = question.answer(given, chosen)
        except (AnalysisError, OakpanelError) as error:
            words = f"! {error}"
        self.hand_over(self.Answered(words))

    def on_strength_page_answered(self, message: Answered) -> None:
        """Show it."""
        self.show(message.words)

    def show(self, words: str) -> None:
        """Put words where the answer stands."""
        self.query_one("#answer", Static).update(Content(words))


def _wanted(question: Question, values: Mapping[str, str]) -> list[str]:
    """Return the labels of what is not typed yet; a cask begun wants both its fields."""
    begun = {name.partition(".")[2] for name in values if "." in name}
    return [
        field.label.strip().lower()
        for field in question.numbers
        if field.name not in values
        and (field.name not in question.may_be_empty or field.name.partition(".")[2] in begun)
    ]
