"""All that can be done on the screen behind it, found by its words and done by Enter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.geometry import Size
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Input

from panel.booth.dialogs import Question

if TYPE_CHECKING:
    from textual.dom import DOMNode

AROUND = 10
"""Rows that frame, field and keys take of the screen."""
FEWEST_ROWS = 3


@dataclass(frozen=True)
class Doable:
    """Something that can be done now: its words, its keys, what it does, and how."""

    words: str
    keys: str
    tells: str
    action: str
    node: DOMNode

    def has(self, words: Sequence[str]) -> bool:
        """Say whether each of these words stands in its own or in what it does."""
        told = f"{self.words} {self.tells}".casefold()
        return all(word in told for word in words)

    def is_called(self, words: Sequence[str]) -> bool:
        """Say whether each of these words begins one of its own."""
        own = f" {self.words.casefold()}"
        return all(f" {word}" in own for word in words)


class Found(Widget):
    """What can be done, a row each, as many as fit; that under the pointer is told in full."""

    DEFAULT_CSS = "Found { margin-top: 1; height: auto; }"
    pointer: reactive[int] = reactive(0)
    shown: reactive[tuple[Doable, ...]] = reactive((), layout=True)

    def __init__(self, doable: Sequence[Doable]) -> None:
        super().__init__()
        self.set_reactive(Found.shown, tuple(doable))
        self._keys = max((cell_len(each.keys) for each in doable), default=0) + 2
        self._words = max((cell_len(each.words) for each in doable), default=0) + 2

    @property
    def rows(self) -> int:
        """How many rows are drawn at once."""
        return max(self.app.size.height - AROUND, FEWEST_ROWS)

    @property
    def first(self) -> int:
        """The first that is drawn: the pointer is always among those that are."""
        return max(min(self.pointer - self.rows // 2, len(self.shown) - self.rows), 0)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Return a row each, as far as they fit, and two for what is told in full."""
        del container, viewport, width
        return min(len(self.shown), self.rows) + 2

    def render(self) -> Content:
        """Draw words, keys and what each does; nothing in it is markup."""
        if not self.shown:
            return Content("  Nothing here is called so.")
        drawn = range(self.first, min(self.first + self.rows, len(self.shown)))
        room = self.content_size.width
        rows = [self._row(at).truncate(room, ellipsis=True) for at in drawn]
        whole = Content(f"  {self.shown[self.pointer].tells}").stylize("$secondary")
        return Content("\n").join([*rows, Content(""), whole])

    def _row(self, at: int) -> Content:
        each, here = self.shown[at], at == self.pointer
        words, keys = each.words.ljust(self._words), each.keys.ljust(self._keys)
        return Content.assemble(
            ("▸ " if here else "  ", "bold $accent"),
            (words, "bold" if here else ""),
            (keys, "bold $accent"),
            each.tells,
        )


class Actions(Question[Doable | None]):
    """All that can be done here: letters find, Enter does it, Esc leaves all as it was."""

    DEFAULT_CSS = """
    Actions { align: center middle; }
    Actions > Vertical {
        width: 78; max-width: 98%; height: auto; max-height: 98%;
        padding: 0 1; background: $surface; border: round $primary;
        border-title-color: $foreground; border-subtitle-color: $foreground;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "point(-1)", "Up", id="actions.up", tooltip="The action above"),
        Binding("down", "point(1)", "Down", id="actions.down", tooltip="The action below"),
        Binding("escape", "leave", "Close", id="actions.leave", tooltip="Do nothing"),
    ]

    def __init__(self, doable: Sequence[Doable]) -> None:
        super().__init__()
        self.doable = tuple(doable)
        self.found = Found(self.doable)

    def compose(self) -> ComposeResult:
        """Lay out the field and the rows."""
        with Vertical() as box:
            box.border_title = "All that can be done here"
            box.border_subtitle = "Letters find; Enter does it; Esc closes"
            yield Input(placeholder="words of what is to be done")
            yield self.found

    def on_input_changed(self, event: Input.Changed) -> None:
        """Show what has the words."""
        self._find(event.value)

    def _find(self, text: str) -> None:
        words = text.casefold().split()
        some = [each for each in self.doable if each.has(words)]
        # What is called so stands before what only tells of it: Enter may change a score.
        found = tuple(sorted(some, key=lambda each: not each.is_called(words)))
        if found != self.found.shown:
            self.found.pointer = 0
            self.found.shown = found

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Do what is under the pointer, by what was typed up to now."""
        self._find(event.value)
        if self.found.shown:
            self.answer(self.found.shown[self.found.pointer])

    def on_click(self, event: events.Click) -> None:
        """Let a touch take its row."""
        at = self.found.first + event.y
        drawn = event.y < self.found.rows and at < len(self.found.shown)
        if event.widget is self.found and drawn:
            self.answer(self.found.shown[at])

    def action_point(self, step: int) -> None:
        """Move the pointer."""
        last = max(len(self.found.shown) - 1, 0)
        self.found.pointer = min(max(self.found.pointer + step, 0), last)

    def action_leave(self) -> None:
        """Close without doing anything."""
        self.answer(None)
