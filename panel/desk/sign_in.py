"""The desk's door: a lead's code, and the PIN where one is set."""

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

from panel.desk.entries import DoorLine
from panel.desk.page import in_words
from panel.desk.slip import FRAME
from panel.desk.window import Hoop, KeyLine, SayLine

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from panel.desk.app import DeskApp
    from panel.session.gate import Gate


class SignIn(ModalScreen[str]):
    """Asks who leads. Wrong PINs count as at a booth."""

    AUTO_FOCUS = ""  # what is typed at once goes where `on_mount` stands, never into another field
    DEFAULT_CSS = FRAME % {"name": "SignIn"} + "SignIn Static { color: $secondary; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "app.quit", "Leave", id="door.leave", tooltip="Close the desk"),
    ]

    @dataclass
    class Known(Message):
        """Code and PIN go together."""

        code: str

    def __init__(self, gate: Gate) -> None:
        super().__init__()
        self.gate = gate

    def compose(self) -> ComposeResult:
        """Code, PIN, a line for what is wrong."""
        with Vertical():
            yield Hoop("Who leads today?")
            yield Static(Content(f"Code  ({self._codes()})"))
            yield DoorLine(self._code_at_start(), id="code", select_on_focus=False)
            yield Static(Content("PIN"))
            yield DoorLine(password=True, id="pin", select_on_focus=False)
            yield SayLine()
            yield KeyLine()

    def _codes(self) -> str:
        shown = self.gate.leads[:8]
        return ", ".join(shown) + (" ..." if len(shown) < len(self.gate.leads) else "")

    def _code_at_start(self) -> str:
        return self.gate.by or (self.gate.leads[0] if len(self.gate.leads) == 1 else "")

    def on_mount(self) -> None:
        """Stand where something has to be typed."""
        self.query_one("#pin" if self.query_one("#code", Input).value else "#code").focus()
        if not self.gate.with_pin:
            self.say("Nobody who leads has a PIN: the code is enough, leave the PIN empty.")

    def say(self, message: str, *, trouble: bool = False) -> None:
        """Show a message in the frame."""
        self.query_one(SayLine).say(message, trouble=trouble)

    @on(DoorLine.Submitted)
    def go_on(self) -> None:
        """From the code to the PIN; from the PIN in."""
        code, pin = (self.query_one(name, Input) for name in ("#code", "#pin"))
        if code.value.strip() in self.gate.with_pin and not pin.value:
            self.say("" if code.has_focus else "Type the PIN; it does not show.")
            pin.focus()
        else:
            self.say("Looking ...")
            self.knock(code.value.strip(), pin.value)
            pin.value = ""

    @work(thread=True, exclusive=True, group="door", exit_on_error=False)
    def knock(self, code: str, pin: str) -> None:
        """Check in a job: the hash is slow on purpose."""
        from panel.session.gate import let_in

        desk = cast("DeskApp", self.app)
        let_in(desk.store, code, pin, now=desk.now())
        self.post_message(self.Known(code))

    @on(Known)
    def known(self, message: Known) -> None:
        """Go in."""
        self.dismiss(message.code)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say in words why the door stays shut."""
        if event.state is WorkerState.ERROR:
            self.say(in_words(event.worker.error), trouble=True)
            self.query_one("#pin", Input).focus()
