"""A session in sets at the desk: what was found, and the figures behind it."""

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
from panel.desk.page import Follows, Page

if TYPE_CHECKING:
    from panel.desk.page import Handed


class SetsPage(Page):
    """The finding of one session in sets, whatever was done with them."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "sessions"
    DEFAULT_CSS = """
    SetsPage VerticalScroll { height: 1fr; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("x", "write_page", "Hand on", "sets.hand_on", "Write a page of it into a file"),
    ]

    @dataclass
    class Read(Message):
        """The session has been judged; lines for the width there was."""

        lines: list[str]

    def __init__(self, name: str) -> None:
        super().__init__()
        self.session_name = name

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of this session."""
        from panel.desk.handing import session_page

        return session_page(self.desk, self.session_name, reader)

    def body(self) -> ComposeResult:
        """Put the lines into a frame that scrolls."""
        with VerticalScroll():
            yield Static(id="found")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"Found in {self.session_name}")
        self.say("Reckoning; the other places can be used meanwhile ...")
        self.query_one(VerticalScroll).focus()

    @work(thread=True, exclusive=True, group="sets", exit_on_error=False)
    def read(self) -> None:
        """Judge the session."""
        from panel.questions.kinds import kind_of, session_answer
        from panel.session.reopened import reopened_lines
        from panel.words.answers import paragraph
        from panel.words.kinds import SESSION_LINES, Part

        with self.desk.store.read() as db:
            answer = session_answer(db, self.session_name)
            part = Part(width=self.text_width)
            lines = SESSION_LINES[kind_of(db, self.session_name)](answer, part)
            for words in reopened_lines(db, [self.session_name]):
                lines = [*lines, *paragraph(words, self.text_width)]
        self.hand_over(self.Read(lines))

    def on_sets_page_read(self, message: Read) -> None:
        """Show what was found."""
        self.query_one("#found", Static).update(Content("\n".join(message.lines)))
        self.say("")
