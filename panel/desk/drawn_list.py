"""A list whose lines are drawn at the width there is: scales, bars, signs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from rich.segment import Segment
from textual.binding import BindingType
from textual.events import Click
from textual.strip import Strip

from panel.desk.columns import Row, fit
from panel.desk.moving import Lines, moving_keys


class DrawnList(Lines[Row]):
    """Lines under a fixed heading; an arrow stands before the chosen one."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"drawn--heading", "drawn--line", "drawn--chosen"}
    DEFAULT_CSS = """
    DrawnList { height: 1fr; }
    DrawnList > .drawn--heading { color: $secondary; text-style: bold; }
    DrawnList > .drawn--line { color: $foreground; }
    DrawnList > .drawn--chosen { color: $foreground; background: $panel; text-style: bold; }
    """

    BINDINGS: ClassVar[list[BindingType]] = moving_keys("drawn")

    class Moved(Lines.Moved):
        """The arrow stands at another line."""

    class Opened(Lines.Opened):
        """Enter or a second click on a line."""

    def __init__(
        self,
        draw: Callable[[Row, int], str],
        *,
        heading: Callable[[int], Sequence[str]] = lambda _width: (),
        id: str | None = None,
    ) -> None:
        super().__init__(id=id)
        self.draw = draw
        self.heading = heading
        self.first_line = 0

    def fill(self, rows: Sequence[Row]) -> None:
        """Take new lines; the arrow stays where it stood."""
        self.rows = self.shown = list(rows)
        self.cursor = self.cursor
        self.follow()

    def on_resize(self) -> None:
        """Keep the arrow in view."""
        self.follow()

    @property
    def heading_height(self) -> int:
        """Lines of the heading at this width."""
        return len(self.heading(self.size.width))

    def keep_in_view(self) -> None:
        """Bring the line of the arrow into the window."""
        shown = self.lines_in_view
        most = max(len(self.rows) - shown, 0)
        first = max(min(self.first_line, self.cursor), self.cursor - shown + 1)
        self.first_line = max(0, min(first, most))

    def on_click(self, event: Click) -> None:
        """A click moves the arrow, a second one opens."""
        below = event.y - self.heading_height
        if below >= 0:
            self.click_on(self.first_line + below, event.chain)

    def render_line(self, y: int) -> Strip:
        """Draw a heading or a line."""
        room = self.size.width - 2
        headings = self.heading(room)
        if y < len(headings):
            return self._strip("  ", headings[y], "heading")
        place = self.first_line + y - len(headings)
        if place >= len(self.rows):
            return Strip.blank(self.size.width, self.rich_style)
        here = place == self.cursor
        text = self.draw(self.rows[place], room)
        return self._strip("▸ " if here else "  ", text, "chosen" if here else "line")

    def _strip(self, lead: str, text: str, part: str) -> Strip:
        style = self.get_component_rich_style(f"drawn--{part}")
        line = Strip([Segment(lead + fit(text, max(self.size.width - 2, 0)), style)])
        return line.adjust_cell_length(self.size.width, style)
