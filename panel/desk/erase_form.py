"""Erasing somebody: what goes and what stays is said first, and the code is typed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.text_page import TextPage
from panel.errors import EntriesAtFault
from panel.questions.known_profile import KnownProfile
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.records.erase import Erasure, Foreseen
    from panel.store.erasing import Overwriting

GO, STAY = "deleted", "under a pseudonym"


class EraseForm(DeedForm):
    """Scores deleted or kept under a pseudonym; kept only once the code was typed."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Erase", "Erase them for good")]
    PLACE = "people"
    ACT = Act.ERASE
    TITLE_WORDS = "Erase"
    DEFAULT_CSS = "EraseForm #before { height: auto; padding: 0 1 1 1; }"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("scores", "Scores", "left and right change it", choices=(GO, STAY)),
        Field("typed", "Type the code", "so that nobody is erased by a slip"),
    )

    @dataclass
    class Read(Message):
        """What it would touch."""

        foreseen: Foreseen

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.told: list[str] = []

    def body(self) -> ComposeResult:
        """Say first what goes and what stays."""
        yield Static(Content("Looking what it would touch ..."), id="before")
        yield from super().body()

    def set_up(self) -> None:
        """Say who."""
        super().set_up()
        self.head(f"Erase {self.code} for good")
        self.lines[0].entry.focus()

    @work(thread=True, exclusive=True, group="foresee", exit_on_error=False)
    def read(self) -> None:
        """See what it would touch."""
        from panel.records.erase import foresee

        with self.desk.store.read() as db:
            foreseen = foresee(db, self.code)
        self.hand_over(self.Read(foreseen))

    def on_erase_form_read(self, message: Read) -> None:
        """Say it."""
        from panel.words.people_words import foreseen_lines

        lines = foreseen_lines(self.code, message.foreseen)
        self.query_one("#before", Static).update(Content("\n".join(lines)))

    def look(self, values: dict[str, str]) -> None:
        """See that the code was typed."""
        if values.get("typed") != self.code:
            raise EntriesAtFault({"typed": f"type {self.code} here"})

    def do(self, values: dict[str, str]) -> str:
        """Erase, and overwrite what was erased."""
        from panel.records.forgetting import erase_and_overwrite

        self.look(values)
        desk = self.desk
        gone, done = erase_and_overwrite(
            desk.store,
            self.code,
            keep_scores=values["scores"] == STAY,
            now=desk.now(),
            by=desk.by,
            tell=self.waits,
        )
        desk.known = KnownProfile()  # it names who nosed
        self.told = list(after(self.code, gone, done))
        return f"{self.code} is erased."

    def waits(self, held_by: tuple[str, ...]) -> None:
        """Say whom it waits for."""
        from panel.store.holders import named
        from panel.words.erasure_words import waiting_words

        self.app.call_from_thread(self.say, waiting_words(named(held_by)))

    def leave(self) -> None:
        """Go back past the page of one who is no more, and show what was done."""
        app, page = self.app, TextPage(self.PLACE, f"{self.code} is erased", self.told)
        app.pop_screen()
        app.switch_screen(page)


def after(code: str, gone: Erasure, done: Overwriting) -> Iterator[str]:
    """Say what was done and what is left to do."""
    from panel.words.erasure_words import erasure_lines

    yield from erasure_lines(code, gone)
    yield from after_overwriting(done)


def after_overwriting(done: Overwriting) -> Iterator[str]:
    """Say whether the old text is gone, and what no program can reach."""
    from panel.store.holders import named
    from panel.words.erasure_words import HELD_ELSEWHERE, overwriting_lines

    yield from overwriting_lines(done.overwritten, done.copies)
    yield ""
    yield HELD_ELSEWHERE
    if not done.overwritten:
        yield ""
        yield (
            "The old text is still in the file, as others hold it open. Close "
            f"{named(done.held_by)}, then choose: 7 House, Overwrite what was erased."
        )
