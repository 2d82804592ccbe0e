"""What nobody may empty, and what many mornings tell of the noses: pages to read and hand on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.keys import key
from panel.desk.page import Page

if TYPE_CHECKING:
    from panel.desk.page import Handed

NOTHING = "Passing holds no cask."


class LinesPage(Page):
    """Lines that are read from the records."""

    PLACE = "sessions"
    DEFAULT_CSS = "LinesPage Static { padding: 0 1; }"
    HEAD: ClassVar[str] = ""

    @dataclass
    class Read(Message):
        """The lines have been read."""

        lines: list[str]

    def body(self) -> ComposeResult:
        """Put the lines into a frame that scrolls."""
        with VerticalScroll():
            yield Static(id="lines")

    def set_up(self) -> None:
        """Say what it is."""
        super().set_up()
        self.head(self.HEAD)
        self.query_one(VerticalScroll).focus()

    def lines(self) -> list[str]:
        """Read the lines; called in a thread."""
        raise NotImplementedError

    @work(thread=True, exclusive=True, group="lines", exit_on_error=False)
    def read(self) -> None:
        """Read them."""
        self.hand_over(self.Read(self.lines()))

    def on_lines_page_read(self, message: Read) -> None:
        """Show them."""
        self.query_one("#lines", Static).update(Content("\n".join(message.lines)))


class SlipsPage(LinesPage):
    """Casks that nobody may empty, warehouse by warehouse; x writes the slips in large print."""

    HEAD = "Do not empty"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("x", "write_page", "Hand on", "slips.hand_on", "A large-print slip a warehouse"),
    ]

    def lines(self) -> list[str]:
        """Read what is held."""
        from panel.questions.passing import do_not_empty
        from panel.words.passing_words import slip_lines

        with self.desk.store.read() as db:
            return slip_lines(do_not_empty(db, self.desk.today()), self.text_width) or [NOTHING]

    def handed_on(self, reader: str) -> Handed | None:
        """Return the slips."""
        from panel.questions.passing import do_not_empty
        from panel.report.paper import slips_page

        day = self.desk.today()
        return "do-not-empty", lambda db: slips_page(do_not_empty(db, day), day)


class NosesPage(LinesPage):
    """What each nose catches and stops over many mornings, and which families are not shown."""

    HEAD = "Passing over many mornings"

    def lines(self) -> list[str]:
        """Reckon it."""
        from panel.questions.passing import mornings_answer
        from panel.words.passing_words import mornings_lines

        with self.desk.store.read() as db:
            return mornings_lines(mornings_answer(db, until=self.desk.today()), self.text_width)
