"""Help: every key that works on the screen behind it, with what it does."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from panel.seat.said import MANNERS

TEXT_CELLS = 68


class Help(ModalScreen[None]):
    """The keys, from the screen itself."""

    DEFAULT_CSS = """
    Help { align: center middle; }
    Help > VerticalScroll {
        width: 78; max-width: 98%; height: auto; max-height: 96%;
        padding: 0 2; background: $surface; border: round $primary;
        border-title-color: $foreground; border-subtitle-color: $foreground;
    }
    Help Static { height: auto; }
    Help .manners { margin-top: 1; color: $secondary; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "escape,enter,question_mark,f1,space",
            "leave",
            "Close",
            id="help.leave",
            tooltip="Go back to the screen",
        ),
    ]

    def __init__(self, keys: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        self.keys = tuple(keys)

    def compose(self) -> ComposeResult:
        """Lay out keys, then the manners at the glass."""
        with VerticalScroll() as box:
            box.border_title = "Keys of this screen"
            box.border_subtitle = "Esc closes; up and down scroll"
            yield Static(self._listed(), markup=False)
            yield Static(MANNERS, classes="manners", markup=False)

    def _listed(self) -> Content:
        widest = max((len(key) for key, _ in self.keys), default=0) + 2
        rows: list[Content] = []
        for key, words in self.keys:
            first, *others = wrap(words, TEXT_CELLS - widest) or [""]
            rows.append(Content.assemble((key.ljust(widest), "bold $accent"), first))
            rows.extend(Content(" " * widest + other) for other in others)
        return Content("\n").join(rows)

    def action_leave(self) -> None:
        """Close."""
        self.dismiss(None)
