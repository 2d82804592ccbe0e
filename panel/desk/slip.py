"""Small pages laid over another: something to read, something to agree to."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from panel.desk.window import Hoop, KeyLine

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult

SLIP_CELLS = 70
"""Columns that a line of a slip has, folded to fit its frame."""
FRAME = """
%(name)s { align: center middle; background: $background 60%%; }
%(name)s > Vertical {
    width: 76; max-width: 96%%; height: auto; max-height: 100%%;
    background: $surface; border: heavy $secondary; padding: 0 1;
}
%(name)s VerticalScroll { height: auto; max-height: 75vh; }
%(name)s KeyLine { dock: none; margin: 1 0 0 0; }
"""


class ReadSlip(ModalScreen[None]):
    """Lines to read; any long text goes here, as it is."""

    DEFAULT_CSS = FRAME % {"name": "ReadSlip"}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "dismiss", "Back", id="slip.back", tooltip="Take the slip away"),
    ]

    def __init__(self, title: str, lines: Sequence[str]) -> None:
        super().__init__()
        self.title_words = title
        self.text = "\n".join(lines)

    def compose(self) -> ComposeResult:
        """Put the text into a scrolled frame."""
        with Vertical():
            yield Hoop(self.title_words)
            with VerticalScroll():
                yield Static(Content(self.text))
            yield KeyLine()


class Confirm(ModalScreen[bool]):
    """What will happen, and whether it may. Enter alone never agrees."""

    DEFAULT_CSS = FRAME % {"name": "Confirm"}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer(True)", "Yes, do it", id="confirm.yes", tooltip="Do what stands here"),
        Binding("n,escape", "answer(False)", "No", id="confirm.no", tooltip="Leave all as it is"),
    ]

    def __init__(self, title: str, lines: Sequence[str]) -> None:
        super().__init__()
        self.title_words = title
        self.text = "\n".join(lines)

    def compose(self) -> ComposeResult:
        """Put what will happen above the two keys."""
        with Vertical():
            yield Hoop(self.title_words)
            with VerticalScroll():
                yield Static(Content(self.text))
            yield KeyLine()

    def action_answer(self, agreed: bool) -> None:
        """Answer and go."""
        self.dismiss(agreed)
