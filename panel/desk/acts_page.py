"""A page that says what is known, and lists what can be done: Enter does it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.keys import Offer
from panel.desk.page import Page

COLUMNS: tuple[Column[Offer], ...] = (
    Column("What can be done", 26, lambda offer: offer.words),
    Column("How", 44, lambda offer: offer.tooltip, stretch=True),
)


class ActsTable(BigTable[Offer]):
    """The offers of a page, a line each."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class ActsPage(Page):
    """Facts above, offers below."""

    DEFAULT_CSS = """
    ActsPage #facts { height: auto; max-height: 10; padding: 0 1 1 1; }
    """

    def body(self) -> ComposeResult:
        """Put the facts above the list."""
        yield Static(id="facts")
        yield ActsTable(COLUMNS, name_of=lambda offer: offer.name, empty="Nothing just now.")

    def set_up(self) -> None:
        """List what can be done."""
        super().set_up()
        self.list_acts()

    def list_acts(self) -> None:
        """List what can be done now."""
        self.query_one(ActsTable).fill(
            offer for offer in self.OFFERS if self.check_action(offer.action, ()) is True
        )

    def tell(self, facts: Sequence[str]) -> None:
        """Show what is known."""
        self.query_one("#facts", Static).update(Content("\n".join(facts)))
        self.list_acts()

    @on(BigTable.Opened)
    async def do(self, event: BigTable.Opened) -> None:
        """Do what the line says."""
        await self.run_action(event.row.action)
