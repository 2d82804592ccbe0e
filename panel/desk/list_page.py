"""A page that is one long list with a line to find by."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.events import Key
from textual.widgets import Input

from panel.desk.big_table import BigTable
from panel.desk.page import Page
from panel.figures import in_digits


class FindLine(Input):
    """Where words to find are typed; away until it is asked for."""

    DEFAULT_CSS = """
    FindLine { display: none; }
    FindLine.-shown { display: block; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Show all", id="find.leave", tooltip="Show all lines again"),
        Binding("enter", "keep", "To the list", id="find.keep", tooltip="Go to what is found"),
        Binding("down", "to_list", "Down to the list", show=False, id="find.down"),
    ]

    awaited = False
    """Whether it was asked for by a letter and is not there yet."""

    def on_focus(self) -> None:
        """It is there."""
        self.awaited = False

    def action_leave(self) -> None:
        """Forget the words and go away."""
        self.value = ""
        self.remove_class("-shown")
        self.screen.query_one(BigTable).focus()

    def action_to_list(self) -> None:
        """Keep the words and go to the list."""
        self.set_class(bool(self.value), "-shown")
        self.screen.query_one(BigTable).focus()

    def action_keep(self) -> None:
        """Keep the words, go to the list, and do what a list does with words that are typed."""
        self.action_to_list()
        if isinstance(self.screen, ListPage):
            self.screen.words_kept(self.value)


class ListPage(Page):
    """A heading, a table, a line to find by."""

    FIND_HINT: ClassVar[str] = "any words of a line"
    LETTERS_FIND: ClassVar[bool] = False
    """Whether a letter that is no key here begins the words to find."""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "find", "Find", id="list.find", tooltip="Show the lines with some words"),
    ]

    def table(self) -> BigTable[Any]:
        """Make the table of this page."""
        raise NotImplementedError

    def body(self) -> ComposeResult:
        """Put the line to find by under the table."""
        yield self.table()
        yield FindLine(placeholder=f"find: {self.FIND_HINT}", select_on_focus=False)

    @property
    def list(self) -> BigTable[Any]:
        """The table on the screen."""
        return self.query_one(BigTable)

    def fill(self, rows: Sequence[Any]) -> None:
        """Show new rows."""
        self.list.fill(rows)
        self.count()

    def count(self) -> None:
        """Say in the heading how many lines there are."""
        shown, held = len(self.list.shown), len(self.list.rows)
        self.head(
            fact=in_digits(shown, ",")
            if shown == held
            else f"{in_digits(shown, ',')} of {in_digits(held, ',')}"
        )

    def action_find(self) -> None:
        """Go to the line to find by."""
        line = self.query_one(FindLine)
        line.add_class("-shown")
        line.focus()

    def words_kept(self, words: str) -> None:
        """Do what is to be done once the words to find are typed; here nothing."""

    def on_key(self, event: Key) -> None:
        """Begin to find anew by a letter, where it does nothing else."""
        line, sign = self.query_one(FindLine), event.character or ""
        begins = self.LETTERS_FIND and self.focused is self.list and sign.isalpha()
        if begins and not line.awaited and event.key not in self.active_bindings:
            line.awaited, line.value = True, ""
            self.action_find()
        if line.awaited:
            event.stop()  # what is typed while the line is on its way goes into it too
            if sign.isprintable():
                line.insert_text_at_cursor(sign)

    def action_back(self) -> None:
        """First show all lines again, then go one step back."""
        if self.list.wanted:
            self.query_one(FindLine).action_leave()
        else:
            super().action_back()

    @on(Input.Changed)
    def find(self, event: Input.Changed) -> None:
        """Show what fits while it is typed."""
        event.stop()
        self.look_for(event.value)

    def look_for(self, words: str) -> None:
        """Show the lines that have the words, and say how many they are."""
        self.list.find(words)
        self.count()
