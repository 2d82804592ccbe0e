"""Lists in which lines can be ticked, so that something is done for all of them at once."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message

from panel.desk.big_table import BigTable
from panel.desk.columns import Row
from panel.desk.homes import page_of

if TYPE_CHECKING:
    from panel.desk.page import Page

MOST_DRAWN = 24
"""Draws of one form: more than this nobody carries from the warehouse in one go."""


class TickTable(BigTable[Row]):
    """A big table whose lines bear a tick; ticks stay when it is ordered, narrowed or read anew."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "tick_line", "Tick", id="tick.line", tooltip="Tick this line, or untick"),
    ]

    class Ticked(Message):
        """A line was ticked, or let go."""

    ticked: dict[Hashable, Row]

    def on_mount(self) -> None:
        """Begin without a tick."""
        self.ticked = {}

    def fill(self, rows: Iterable[Row]) -> None:
        """Take new rows; a tick stays with its record as long as there is one."""
        super().fill(rows)
        if self.ticked:
            now = {self.name_of(row): row for row in self.rows}
            self.ticked = {name: now[name] for name in self.ticked if name in now}

    @property
    def chosen(self) -> list[Row]:
        """The lines ticked, in the order in which they were; else the line of the arrow."""
        here = [] if self.current is None else [self.current]
        return list(self.ticked.values()) or here

    def tick(self, rows: Iterable[Row]) -> None:
        """Tick these and no others."""
        self.ticked = {self.name_of(row): row for row in rows}
        self.refresh()

    def action_tick_line(self) -> None:
        """Tick the line of the arrow or let it go, and step on."""
        row = self.current
        if row is None:
            return
        if self.ticked.pop(self.name_of(row), None) is None:
            self.ticked[self.name_of(row)] = row
        self.action_move(1)
        self.refresh()
        self.post_message(self.Ticked())

    def lead_of(self, row: Row, *, here: bool) -> str:
        """Return the arrow and the tick."""
        return f"{'▸' if here else ' '}{'✓' if self.name_of(row) in self.ticked else ' '}"


def draw_ticked(page: Page, table: TickTable[Any], cask_of: Callable[[Any], str]) -> None:
    """Open the form for draws of the casks ticked, else of the one of the arrow."""
    casks = tuple(dict.fromkeys(cask_of(row) for row in table.chosen))
    if not casks:
        page.say("There is no cask to draw yet.")
    elif len(casks) > MOST_DRAWN:
        page.say(f"{len(casks)} casks are ticked: a form takes {MOST_DRAWN} draws at most.")
    else:
        page.app.push_screen(page_of("draw", casks, lambda: table.tick(())))
