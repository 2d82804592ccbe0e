"""One descriptor on its line: what it shows, and how keys, mouse or finger change it.

The screen decides which line is in hand and calls the methods here itself: keys that come in a
burst are then worked off in their order and can never land on the line before or after.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum

from textual import events
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from panel.store.booth_tray import Line

POINTER_CELLS = 2
VALUE_CELLS = 6
KEPT_CELLS = 14


class Keeping(Enum):
    """Whether what the line shows is on disk."""

    NOTHING = ""
    UNDER_WAY = "keeping ..."
    KEPT = "kept"
    FAILED = "not kept yet"


class LineScale(Widget):
    """A line from low to high without a mark until the first key."""

    DEFAULT_CSS = """
    LineScale { width: 100%; height: 1; padding: 0 1; color: $foreground; }
    LineScale.-in-hand { background: $surface; }
    """
    value: reactive[int | None] = reactive(None)
    keeping: reactive[Keeping] = reactive(Keeping.NOTHING)
    kept_at: reactive[str] = reactive("")
    in_hand: reactive[bool] = reactive(False)

    def __init__(
        self,
        line: Line,
        name_cells: int,
        changed: Callable[[LineScale], None],
        touched: Callable[[LineScale], None],
    ) -> None:
        super().__init__(id=f"line-{line.version_id}")
        self.line = line
        self.name_cells = name_cells
        self.locked = False
        self._changed = changed
        self._touched = touched
        self._typed = ""
        self._before_typing: int | None = None
        self._dragging = False

    def watch_in_hand(self, in_hand: bool) -> None:
        """Stand out while in hand; digits begin anew on the next visit."""
        self.set_class(in_hand, "-in-hand")
        self._typed = ""

    def show_kept(self, value: int | None, at: str) -> None:
        """Show that *value* is on disk, unless the line has moved on since."""
        if value == self.value:
            self.keeping, self.kept_at = Keeping.KEPT, at

    def show_failed(self) -> None:
        """Show that what stands here is not on disk."""
        self.keeping = Keeping.FAILED

    def change(self, value: int | None) -> None:
        """Set the line and tell the screen, which has it saved."""
        if self.locked or value == self.value:
            return
        self.value, self.keeping = value, Keeping.UNDER_WAY
        self._changed(self)

    def move(self, step: int) -> None:
        """Move by *step*, from the low end where the line is blank."""
        self._typed = ""
        start = self.line.low if self.value is None else self.value
        self.change(min(max(start + step, self.line.low), self.line.high))

    def blank(self) -> None:
        """Make the line blank again."""
        self._typed = ""
        self.change(None)

    def type_digit(self, digit: str) -> str:
        """Add a digit to what is being typed; return what is wrong with it, if anything.

        Too high a number undoes the digits before it: it may be the code of the next glass.
        """
        if not self._typed:
            self._before_typing = self.value
        value = int(self._typed + digit)
        if value > self.line.high:
            self._typed = ""
            self.change(self._before_typing)
            return f"{value} is over {self.line.high}: the line stands as before."
        self._typed = str(value)
        self.change(max(value, self.line.low))
        return ""

    def back_digit(self) -> None:
        """Take the last digit of the value away; none left is blank."""
        digits = self._typed or ("" if self.value is None else str(self.value))
        self._typed = digits[:-1]
        self.change(int(self._typed) if self._typed else None)

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Take the line in hand, and set the mark where it was touched."""
        self._touched(self)
        if self._on_scale(event.x):
            self._dragging = True
            self.capture_mouse()
            self._set_at(event.x)

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Follow the finger."""
        if self._dragging:
            self._set_at(event.x)

    def on_mouse_up(self, _event: events.MouseUp) -> None:
        """Let go."""
        self._dragging = False
        self.release_mouse()

    def _set_at(self, x: int) -> None:
        self._typed = ""
        share = (x - self._scale_start()) / max(self._scale_cells() - 1, 1)
        length = self.line.high - self.line.low
        self.change(round(self.line.low + min(max(share, 0.0), 1.0) * length))

    def _on_scale(self, x: int) -> bool:
        start = self._scale_start()
        return start - 1 <= x <= start + self._scale_cells()

    def _scale_start(self) -> int:
        return 1 + POINTER_CELLS + self.name_cells + 1

    def _scale_cells(self) -> int:
        return scale_cells(self.size.width, self.name_cells)

    def render(self) -> Content:
        """Draw pointer, name, line, value and whether it is kept."""
        strong = "bold" if self.in_hand else ""
        name = Content(self.line.name).truncate(self.name_cells, ellipsis=True)
        return Content.assemble(
            ("▸ " if self.in_hand else "  ", "bold $accent"),
            name.pad_right(self.name_cells - name.cell_length).stylize(strong),
            " ",
            self._drawn(),
            (self._number().rjust(VALUE_CELLS), strong),
            "  ",
            (self._kept_words().ljust(KEPT_CELLS), self._kept_style()),
        )

    def _drawn(self) -> Content:
        cells = self._scale_cells()
        rule = "┝" + "━" * (cells - 2) + "┥" if self.in_hand else "├" + "─" * (cells - 2) + "┤"
        if self.value is None:
            return Content.styled(rule, "$secondary")
        length = self.line.high - self.line.low
        at = round((self.value - self.line.low) / length * (cells - 1))
        return Content.assemble(
            (rule[:at], "$secondary"), ("◆", "bold $accent"), (rule[at + 1 :], "$secondary")
        )

    def _number(self) -> str:
        return "blank" if self.value is None else str(self.value)

    def _kept_words(self) -> str:
        return f"kept {self.kept_at}" if self.keeping is Keeping.KEPT else self.keeping.value

    def _kept_style(self) -> str:
        if self.keeping is Keeping.FAILED:
            return "bold $error"
        return "$success" if self.keeping is Keeping.KEPT else "$foreground"


def scale_cells(width: int, name_cells: int) -> int:
    """Return how many cells of a widget *width* wide the line itself gets."""
    others = POINTER_CELLS + name_cells + 1 + VALUE_CELLS + 2 + KEPT_CELLS
    return max(width - others, 11)


class ScaleEnds(Widget):
    """The words at both ends of the line in hand, above all lines."""

    DEFAULT_CSS = "ScaleEnds { width: 100%; height: 1; padding: 0 2 0 1; color: $secondary; }"
    line: reactive[Line | None] = reactive(None)

    name_cells: reactive[int] = reactive(0)

    def render(self) -> Content:
        """Draw the low words left and the high words right, over the line's two ends."""
        if self.line is None:
            return Content("")
        cells = scale_cells(self.size.width, self.name_cells)
        half = cells // 2 - 1
        low = Content(self.line.low_words).truncate(half, ellipsis=True)
        high = Content(self.line.high_words).truncate(cells - half - 2, ellipsis=True)
        gap = cells - low.cell_length - high.cell_length
        return Content.assemble(" " * (POINTER_CELLS + self.name_cells + 1), low, " " * gap, high)
