"""A page of lines to read, as long as they are; x writes them into a file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.keys import key
from panel.desk.page import Page
from panel.desk.typed import Entries


class TextPage(Page):
    """Lines under a heading."""

    DEFAULT_CSS = "TextPage Static { padding: 0 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("x", "hand_on", "Hand on", "text.hand_on", "Write these lines into a file"),
    ]

    def __init__(self, place: str, title: str, lines: Sequence[str], *, file: str = "") -> None:
        super().__init__()
        self.PLACE = place  # type: ignore[misc]
        self.heading, self.file = title, file
        self.text = "\n".join(lines)

    def body(self) -> ComposeResult:
        """Put the lines into a frame that scrolls."""
        with VerticalScroll():
            yield Static(Content(self.text))

    def set_up(self) -> None:
        """Show what it is and stand in it."""
        super().set_up()
        self.head(self.heading)
        self.query_one(VerticalScroll).focus()

    def can_now(self, action: str) -> bool:
        """Offer a file only where the lines are to be handed on."""
        if action == "hand_on":
            return bool(self.file)
        return super().can_now(action)

    def action_hand_on(self) -> None:
        """Ask into which file."""
        self.app.push_screen(TextFileForm(self.PLACE, self.file, self.text))


class TextFileForm(DeedForm):
    """Into which file a text is written."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Write", "Write the file")]
    TITLE_WORDS = "Into a file"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("file", "File", "a new file; only its owner can read it", wide=True),
    )

    def __init__(self, place: str, file: str, text: str) -> None:
        super().__init__({"file": file})
        self.PLACE = place  # type: ignore[misc]
        self.text = text

    def set_up(self) -> None:
        """Stand on the name."""
        super().set_up()
        self.lines[0].entry.focus()

    def do(self, values: dict[str, str]) -> str:
        """Write the file, readable by its owner only."""
        from panel.session.paper import write_private

        typed = Entries(values)
        path = Path(typed.needed("file", "name a file")).expanduser().absolute()
        if path.exists():
            typed.faults["file"] = "it is there already; give a new name"
        typed.settle()
        write_private(path, f"{self.text}\n")
        return f"Written to {path}; only its owner can read it."
