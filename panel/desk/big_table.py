"""A table of any length: only the lines in view are ever drawn."""

from __future__ import annotations

from collections.abc import Callable, Container, Hashable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar, cast

from rich.segment import Segment
from rich.style import Style
from textual import work
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from analysis.cell_text import folded
from panel.desk.columns import Column, Row, fit, fitting, has_all_words, in_order, suited
from panel.desk.moving import Lines, moving_keys

if TYPE_CHECKING:
    from textual.events import Click, Resize


Table = TypeVar("Table", bound="BigTable[Any]")
LONG = 2_000
"""Rows from which the words of all are put together ahead: it takes longer than a key may."""


def sort_keys(columns: Sequence[Column[Any]]) -> list[BindingType]:
    """Return a key for each column that can be sorted by: the capital in its heading."""
    return [
        Binding(
            column.letter,
            f"order('{column.letter}')",
            f"Order by {column.heading.strip()}",
            show=False,
            id=f"table.order_{column.letter.lower()}",
            tooltip="Press again to turn the order round",
        )
        for column in columns
        if column.letter
    ]


def sortable(kind: type[Table], columns: Sequence[Column[Any]]) -> type[Table]:
    """Return that kind of table with a key for each of its columns."""
    return cast("type[Table]", type("Sortable", (kind,), {"BINDINGS": sort_keys(columns)}))


class BigTable(Lines[Row], ScrollView):
    """Rows under fixed headings, one cursor, an order and a filter."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "big-table--heading",
        "big-table--cursor",
        "big-table--row",
        "big-table--empty",
    }
    DEFAULT_CSS = """
    BigTable { height: 1fr; overflow-x: hidden; scrollbar-size-vertical: 1; }
    BigTable > .big-table--heading { color: $secondary; text-style: bold underline; }
    BigTable > .big-table--cursor { background: $panel; text-style: bold; }
    BigTable:focus > .big-table--cursor { text-style: reverse bold; }
    BigTable > .big-table--row { color: $foreground; }
    BigTable > .big-table--empty { color: $foreground 75%; }
    """
    BINDINGS: ClassVar[list[BindingType]] = moving_keys("table")
    MARGIN: ClassVar[int] = 2  # the arrow of the cursor and a space

    class Opened(Lines.Opened):
        """Enter or a second click on a row."""

    class Moved(Lines.Moved):
        """The cursor stands on another row."""

    def __init__(
        self,
        columns: Sequence[Column[Row]],
        *,
        name_of: Callable[[Row], Hashable],
        searched: Callable[[Row], str] | None = None,
        empty: str = "Nothing here yet.",
        id: str | None = None,
    ) -> None:
        super().__init__(id=id)
        self.columns = tuple(columns)
        self.name_of = name_of
        self.searched = searched or self._all_cells
        self.reads_ahead = searched is not None
        self.empty = empty
        self.wanted = ""
        self.kept: Container[Hashable] | None = None
        self.sorted_by: Column[Row] | None = None
        self.falling = False
        self.filled = False
        self._suited = list(self.columns)
        self._searched: list[str] | None = None

    # ---- what it holds

    def fill(self, rows: Iterable[Row]) -> None:
        """Take new rows; the cursor stays on the record it stood on."""
        name = None if self.current is None else self.name_of(self.current)
        self.filled = True
        self.rows = list(rows)
        self._suited = suited(self.columns, self.rows)
        if self.sorted_by is not None:
            self.rows = in_order(self.rows, self.sorted_by, falling=self.falling)
        self._read_words()
        self._show(name)

    def _read_words(self) -> None:
        self._searched = None
        if self.reads_ahead and len(self.rows) >= LONG and self.is_mounted:
            self.read_ahead(self.rows)

    @work(thread=True, exclusive=True, group="warming", exit_on_error=False)
    def read_ahead(self, rows: list[Row]) -> None:
        """Put together what words are looked for in, before somebody types the first."""
        told = [self.searched(row).casefold() for row in rows]
        if rows is self.rows:
            self._searched = told

    def give_up(self) -> None:
        """Stop saying that rows are being read; why there are none stands elsewhere."""
        if not self.filled:
            self.empty = ""
            self.fill([])

    def find(self, text: str) -> None:
        """Show the rows that have every word of *text*."""
        name = None if self.current is None else self.name_of(self.current)
        self.wanted = text
        self._show(name)

    def narrow(self, kept: Container[Hashable] | None) -> None:
        """Show only the records of these names; none is all of them."""
        name = None if self.current is None else self.name_of(self.current)
        self.kept = kept
        self._show(name)

    def order_by(self, column: Column[Row], *, falling: bool = False) -> None:
        """Sort by a column."""
        name = None if self.current is None else self.name_of(self.current)
        self.sorted_by, self.falling = column, falling
        self.rows = in_order(self.rows, column, falling=falling)
        self._read_words()
        self._show(name)

    def go_to(self, name: Hashable) -> bool:
        """Put the cursor on a record; tell whether it is there."""
        place = next((i for i, row in enumerate(self.shown) if self.name_of(row) == name), None)
        if place is not None:
            self.cursor = place
        return place is not None

    def _show(self, name: Hashable | None) -> None:
        words = self.wanted.casefold().split()
        self.shown = self._found(words) if words else self.rows
        if self.kept is not None:
            name_of, kept = self.name_of, self.kept
            self.shown = [row for row in self.shown if name_of(row) in kept]
        self.virtual_size = Size(self.size.width, len(self.shown) + 1)
        if name is None or not self.go_to(name):
            self.cursor = 0
        self.follow()

    def _found(self, words: Sequence[str]) -> list[Row]:
        if self._searched is None:
            self._searched = [self.searched(row).casefold() for row in self.rows]
        pairs = zip(self.rows, self._searched, strict=True)
        return [row for row, searched in pairs if has_all_words(searched, words)]

    def _all_cells(self, row: Row) -> str:
        return " ".join(column.show(row) for column in self.columns)

    # ---- moving

    def keep_in_view(self) -> None:
        """Scroll to the row of the cursor."""
        region = Region(0, self.cursor, 1, 2)  # the heading takes one line of the window
        self.scroll_to_region(region, animate=False, force=True, x_axis=False)

    def action_order(self, letter: str) -> None:
        """Sort by the column of *letter*; the second time the other way round."""
        column = next((each for each in self.columns if each.letter == letter), None)
        if column is not None:
            self.order_by(column, falling=column is self.sorted_by and not self.falling)

    def on_click(self, event: Click) -> None:
        """A click moves the arrow, a second one opens; on a heading it sorts."""
        if event.y == 0:
            self._order_at(event.x)
            return
        self.click_on(self.scroll_offset.y + event.y - 1, event.chain)

    def _order_at(self, x: int) -> None:
        left = self.MARGIN
        for column in self._columns_in_view():
            if left <= x <= left + column.width:
                self.action_order(column.letter)
                return
            left += column.width + 1

    def on_resize(self, event: Resize) -> None:
        """Let the scroll bar know."""
        self.virtual_size = Size(self.size.width, len(self.shown) + 1)

    # ---- drawing

    def _columns_in_view(self) -> list[Column[Row]]:
        return fitting(self._suited, self.size.width - self.MARGIN)

    def render_line(self, y: int) -> Strip:
        """Draw one line of the window: the heading, a row, or nothing."""
        if y == 0:
            return self._line(" " * self.MARGIN, self._headings(), self._style("heading"))
        place = self.scroll_offset.y + y - 1
        if place < len(self.shown):
            return self._row(place)
        if not self.shown:
            return self._told(y - 2)
        return Strip.blank(self.size.width, self.rich_style)

    def _told(self, line: int) -> Strip:
        told = f"Nothing has all of: {self.wanted}" if self.rows else self.empty
        if self.rows and not self.wanted:
            told = "Nothing is left of the list as it is narrowed: Escape widens it."
        told = told if self.filled else "Reading ..."
        room = self.size.width - self.MARGIN
        lines = [part for whole in told.splitlines() for part in folded(whole, room)]
        text = lines[line] if 0 <= line < len(lines) else ""
        return self._line(" " * self.MARGIN, fit(text, room), self._style("empty"))

    def _row(self, place: int) -> Strip:
        row = self.shown[place]
        here = place == self.cursor
        cells = [
            fit(column.show(row), column.width, right=column.right)
            for column in self._columns_in_view()
        ]
        style = self._style("cursor" if here else "row")
        return self._line(self.lead_of(row, here=here), " ".join(cells), style)

    def lead_of(self, row: Row, *, here: bool) -> str:
        """Return the cells before a row."""
        return "▸ " if here else "  "

    def _headings(self) -> str:
        return " ".join(self._heading(column) for column in self._columns_in_view())

    def _heading(self, column: Column[Row]) -> str:
        chosen = self.sorted_by is not None and column.heading == self.sorted_by.heading
        arrow = ("▼" if self.falling else "▲") if chosen else ""
        return fit(column.heading + arrow, column.width, right=column.right)

    def _style(self, part: str) -> Style:
        return self.get_component_rich_style(f"big-table--{part}")

    def _line(self, lead: str, text: str, style: Style) -> Strip:
        line = Strip([Segment(lead + text, style)])
        return line.adjust_cell_length(self.size.width, style)
