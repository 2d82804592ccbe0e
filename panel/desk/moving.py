"""Moving about by keys: an arrow over the lines of a list, a cursor over the cells of a field."""

from __future__ import annotations

from typing import Any, ClassVar, Generic

from textual.binding import Binding, BindingType
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from panel.desk.columns import Row


def moving_keys(kind: str) -> list[BindingType]:
    """Return the keys of a list of lines; their names begin with *kind*."""
    return [
        Binding("enter", "open", "Open", id=f"{kind}.open", tooltip="Open the line of the arrow"),
        Binding("up", "move(-1)", "Up", show=False, id=f"{kind}.up"),
        Binding("down", "move(1)", "Down", show=False, id=f"{kind}.down"),
        Binding("pageup", "page(-1)", "Page up", show=False, id=f"{kind}.page_up"),
        Binding("pagedown", "page(1)", "Page down", show=False, id=f"{kind}.page_down"),
        Binding("home", "first", "First", show=False, id=f"{kind}.first"),
        Binding("end", "last", "Last", show=False, id=f"{kind}.last"),
    ]


class Lines(Widget, Generic[Row], can_focus=True):
    """Lines with an arrow at one of them. How they look is left to the list."""

    cursor: reactive[int] = reactive(0)

    class OfLine(Message):
        """Something about one line."""

        def __init__(self, lines: Lines[Any], row: Any) -> None:
            super().__init__()
            self.lines = lines
            self.row = row

        @property
        def control(self) -> Lines[Any]:
            """The list, for `@on` with a selector."""
            return self.lines

    class Moved(OfLine):
        """The arrow stands at another line."""

    class Opened(OfLine):
        """Enter or a second click on a line."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.rows: list[Row] = []
        self.shown: list[Row] = []

    def keep_in_view(self) -> None:
        """Bring the line of the arrow into the window."""
        raise NotImplementedError

    @property
    def heading_height(self) -> int:
        """Lines of the heading."""
        return 1

    @property
    def lines_in_view(self) -> int:
        """Lines that fit under the heading."""
        return max(self.size.height - self.heading_height, 1)

    @property
    def current(self) -> Row | None:
        """What stands at the arrow."""
        return self.shown[self.cursor] if self.cursor < len(self.shown) else None

    def validate_cursor(self, value: int) -> int:
        """Keep the arrow on a line."""
        return max(0, min(value, len(self.shown) - 1))

    def watch_cursor(self) -> None:
        """Bring the line into view and tell who wants to know."""
        self.follow()

    def follow(self) -> None:
        """Draw anew around the arrow and say where it stands."""
        self.keep_in_view()
        self.refresh()
        if self.current is not None:
            self.post_message(self.Moved(self, self.current))

    def click_on(self, place: int, clicks: int) -> None:
        """Move the arrow to a line that was clicked; a second click opens it."""
        if place == self.cursor and clicks > 1:
            self.action_open()
        elif 0 <= place < len(self.shown):
            self.cursor = place

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
        self.cursor = len(self.shown) - 1

    def action_open(self) -> None:
        """Open the line of the arrow."""
        if self.current is not None:
            self.post_message(self.Opened(self, self.current))


class Cells(Widget, can_focus=True):
    """Cells in rows and columns with a cursor on one. What stands in them is left to the field."""

    STANDING: ClassVar[int] = 0
    """Rows and columns that do not scroll."""
    row: reactive[int] = reactive(0)
    column: reactive[int] = reactive(0)

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.first_row = self.STANDING
        self.first_column = self.STANDING

    @property
    def last_row(self) -> int:
        """The lowest row, -1 where there is none."""
        raise NotImplementedError

    @property
    def last_column(self) -> int:
        """The column furthest right, -1 where there is none."""
        raise NotImplementedError

    @property
    def rows_in_view(self) -> int:
        """Rows that fit under the heading and what stands still."""
        return max(self.size.height - 1 - self.STANDING, 1)

    @property
    def columns_in_view(self) -> int:
        """Columns that fit beside the names and what stands still."""
        raise NotImplementedError

    def tell(self) -> None:
        """Say which cell the cursor is on."""
        raise NotImplementedError

    def validate_row(self, value: int) -> int:
        """Keep the cursor on a row."""
        return max(0, min(value, self.last_row))

    def validate_column(self, value: int) -> int:
        """Keep the cursor on a column."""
        return max(0, min(value, self.last_column))

    def watch_row(self) -> None:
        """Follow the cursor."""
        self.follow()

    def watch_column(self) -> None:
        """Follow the cursor."""
        self.follow()

    def on_resize(self) -> None:
        """Keep the cursor in view."""
        self.follow()

    def stay(self) -> None:
        """After new cells: leave the cursor where it is, or as near as there is a cell."""
        self.row, self.column = self.row, self.column
        self.follow()

    def follow(self) -> None:
        """Bring the cursor into view and say where it is."""
        if self.row >= self.STANDING:
            first = max(min(self.first_row, self.row), self.row - self.rows_in_view + 1)
            self.first_row = first
        if self.column >= self.STANDING:
            first = max(min(self.first_column, self.column), self.column - self.columns_in_view + 1)
            self.first_column = first
        self.refresh()
        self.tell()

    def action_move(self, down: int, right: int) -> None:
        """Move by rows and columns."""
        self.row += down
        self.column += right
