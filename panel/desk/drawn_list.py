"""A list whose lines are drawn at the width there is: scales, bars, signs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, ClassVar, Generic

from rich.segment import Segment
from textual.binding import Binding, BindingType
from textual.events import Click
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from panel.desk.columns import Row, fit


class DrawnList(Widget, Generic[Row], can_focus=True):
    """Lines under a fixed heading; an arrow stands before the chosen one."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"drawn--heading", "drawn--line", "drawn--chosen"}
    DEFAULT_CSS = """
    DrawnList { height: 1fr; }
    DrawnList > .drawn--heading { color: $secondary; text-style: bold; }
    DrawnList > .drawn--line { color: $foreground; }
    DrawnList > .drawn--chosen { color: $foreground; background: $panel; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Open", id="drawn.open", tooltip="Open the line of the arrow"),
        Binding("up", "move(-1)", "Up", show=False, id="drawn.up"),
        Binding("down", "move(1)", "Down", show=False, id="drawn.down"),
        Binding("pageup", "page(-1)", "Page up", show=False, id="drawn.page_up"),
        Binding("pagedown", "page(1)", "Page down", show=False, id="drawn.page_down"),
        Binding("home", "first", "First", show=False, id="drawn.first"),
        Binding("end", "last", "Last", show=False, id="drawn.last"),
    ]
    cursor: reactive[int] = reactive(0)

    class OfLine(Message):
        """Something about one line."""

        def __init__(self, drawn: DrawnList[Any], row: Any) -> None:
            super().__init__()
            self.drawn = drawn
            self.row = row

        @property
        def control(self) -> DrawnList[Any]:
            """The list, for `@on` with a selector."""
            return self.drawn

    class Moved(OfLine):
        """The arrow stands at another line."""

    class Opened(OfLine):
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
        self.rows: list[Row] = []
        self.first_line = 0

    def fill(self, rows: Sequence[Row]) -> None:
        """Take new lines; the arrow stays where it stood."""
        self.rows = list(rows)
        self.cursor = self.cursor
        self._follow()

    @property
    def current(self) -> Row | None:
        """The line of the arrow."""
        return self.rows[self.cursor] if self.cursor < len(self.rows) else None

    def validate_cursor(self, value: int) -> int:
        """Keep the arrow on a line."""
        return max(0, min(value, len(self.rows) - 1))

    def watch_cursor(self) -> None:
        """Bring the line into view."""
        self._follow()

    def on_resize(self) -> None:
        """Keep the arrow in view."""
        self._follow()

    @property
    def lines_in_view(self) -> int:
        """Lines that fit under the heading."""
        return max(self.size.height - len(self.heading(self.size.width)), 1)

    def _follow(self) -> None:
        shown = self.lines_in_view
        most = max(len(self.rows) - shown, 0)
        first = max(min(self.first_line, self.cursor), self.cursor - shown + 1)
        self.first_line = max(0, min(first, most))
        self.refresh()
        if self.current is not None:
            self.post_message(self.Moved(self, self.current))

    def action_move(self, step: int) -> None:
        """Move by lines."""
        self.cursor += step

    def action_page(self, direction: int) -> None:
        """Move by a window."""
        self.cursor += direction * self.lines_in_view

    def action_first(self) -> None:
        """Go to the first line."""
        self.cursor = 0

    def action_last(self) -> None:
        """Go to the last line."""
        self.cursor = len(self.rows) - 1

    def action_open(self) -> None:
        """Open the line of the arrow."""
        if self.current is not None:
            self.post_message(self.Opened(self, self.current))

    def on_click(self, event: Click) -> None:
        """A click moves the arrow, a second one opens."""
        place = self.first_line + event.y - len(self.heading(self.size.width))
        if place == self.cursor and event.chain > 1:
            self.action_open()
        elif 0 <= place < len(self.rows) and event.y >= len(self.heading(self.size.width)):
            self.cursor = place

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
