"""A new PIN, typed twice and never shown."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from panel.desk.entries import DoorLine
from panel.desk.slip import FRAME
from panel.desk.window import Hoop, KeyLine, SayLine

AWAY = "Whoever will use it types it, and nobody looks on. It is 4 to 12 digits and does not show."
AGAIN = "The same again."


class NewPinSlip(ModalScreen[str]):
    """Ends with the PIN once it was typed twice; with nothing on Escape."""

    DEFAULT_CSS = FRAME % {"name": "NewPinSlip"} + "NewPinSlip Static { color: $secondary; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", id="new_pin.leave", tooltip="Leave it as it was"),
    ]

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code, self.first = code, ""

    def compose(self) -> ComposeResult:
        """Say whose, then the field."""
        with Vertical():
            yield Hoop(f"A PIN for {self.code}")
            yield Static(Content(AWAY))
            yield Static(Content("New PIN"), id="question")
            yield DoorLine(password=True, id="pin", select_on_focus=False)
            yield SayLine()
            yield KeyLine()

    def action_leave(self) -> None:
        """Go without a PIN."""
        self.dismiss(None)

    @on(DoorLine.Submitted)
    def go_on(self) -> None:
        """Refuse at once what cannot be a PIN; take it once both are the same."""
        from panel.store.pins import pin_fault

        field = self.query_one("#pin", Input)
        typed, field.value = field.value, ""
        if self.first and typed == self.first:
            self.dismiss(typed)
        elif self.first:
            self.ask("", "The two do not match. Type both again.", trouble=True)
        elif fault := pin_fault(typed):
            self.ask("", fault, trouble=True)
        else:
            self.ask(typed, AGAIN)

    def ask(self, first: str, words: str, *, trouble: bool = False) -> None:
        """Ask for the second, or anew for the first."""
        self.first = first
        question = "The same PIN again" if first else "New PIN"
        self.query_one("#question", Static).update(Content(question))
        self.query_one(SayLine).say(words, trouble=trouble)
