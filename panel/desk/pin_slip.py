"""The lead's PIN once more, before what is for one person and the lead only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on, work
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from panel.desk.page import in_words
from panel.desk.slip import FRAME
from panel.desk.window import Hoop, KeyLine, SayLine

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from panel.desk.app import DeskApp


class PinSlip(ModalScreen[bool]):
    """Asks for the PIN of who sits here; what it opens is never shown before."""

    DEFAULT_CSS = FRAME % {"name": "PinSlip"} + "PinSlip Static { color: $secondary; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "go_on", "Show it", id="private.on", priority=True, tooltip="Check, show"),
        Binding("escape", "leave", "Back", id="private.leave", tooltip="Leave it unseen"),
    ]

    @dataclass
    class Known(Message):
        """The PIN is right."""

    def __init__(self, about: str) -> None:
        super().__init__()
        self.about = about

    def compose(self) -> ComposeResult:
        """Say what for, then the field."""
        with Vertical():
            yield Hoop("For one person and the lead only")
            yield Static(Content(WARNING))
            yield Static(Content("Your PIN (it does not show)"))
            yield Input(password=True, id="pin", select_on_focus=False)
            yield SayLine()
            yield KeyLine()

    def say(self, message: str, *, trouble: bool = False) -> None:
        """Show a message in the frame."""
        self.query_one(SayLine).say(message, trouble=trouble)

    def action_leave(self) -> None:
        """Go without having seen it."""
        self.dismiss(False)

    def action_go_on(self) -> None:
        """Check the PIN in a job."""
        pin = self.query_one("#pin", Input)
        if not pin.value:
            self.say("Type your PIN.")
            return
        self.say("Looking ...")
        self.check(pin.value)
        pin.value = ""

    @work(thread=True, exclusive=True, group="private", exit_on_error=False)
    def check(self, pin: str) -> None:
        """Check in a job: the hash is slow on purpose."""
        from panel.session.gate import show_private

        desk = cast("DeskApp", self.app)
        show_private(desk.store, desk.by, pin, now=desk.now(), about=self.about)
        self.post_message(self.Known())

    @on(Known)
    def known(self) -> None:
        """Open it."""
        self.dismiss(True)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say in words why it stays shut."""
        if event.state is WorkerState.ERROR:
            self.say(in_words(event.worker.error), trouble=True)


WARNING = (
    "This can touch on a person's health. Look only where nobody else can read along, and speak "
    "of it with that person alone. That you looked stands in the log."
)
