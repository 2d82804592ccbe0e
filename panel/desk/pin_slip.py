"""A PIN, there and then, before an act that binds or what is for one person and the lead only."""

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
from panel.records.acts import Act

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult

    from panel.desk.app import DeskApp
    from panel.records.proving import Asked


class PinSlip(ModalScreen[bool]):
    """Asks for the PIN of who acts; what it opens is never shown, nor done, before."""

    DEFAULT_CSS = FRAME % {"name": "PinSlip"} + "PinSlip Static { color: $secondary; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", id="proof.leave", tooltip="Leave it undone"),
    ]
    TITLE_WORDS = "This binds the house"
    NO_DOUBT = "So that nobody does it in another's name, whoever sits here says who they are."

    @dataclass
    class Wanted(Message):
        """What has to be given was looked up."""

        asked: Asked

    @dataclass
    class Known(Message):
        """The PIN is right."""

    def __init__(self, act: Act, about: str | None = None) -> None:
        super().__init__()
        self.act, self.about = act, about
        self.asked: Asked | None = None
        self.first = ""

    @property
    def desk(self) -> DeskApp:
        """The app, with the store, the clock and who sits here."""
        return cast("DeskApp", self.app)

    def compose(self) -> ComposeResult:
        """Say what for, then the field."""
        with Vertical():
            yield Hoop(self.TITLE_WORDS)
            yield Static(Content(self.NO_DOUBT))
            yield Static(Content("Your PIN (it does not show)"), id="question")
            yield DoorLine(password=True, id="pin", select_on_focus=False)
            yield SayLine()
            yield KeyLine()

    def on_mount(self) -> None:
        """See who has to give what."""
        self.look()

    def say(self, message: str, *, trouble: bool = False) -> None:
        """Show a message in the frame."""
        self.query_one(SayLine).say(message, trouble=trouble)

    def action_leave(self) -> None:
        """Go without having done it."""
        self.dismiss(False)

    @work(thread=True, exclusive=True, group="proof", exit_on_error=False)
    def look(self) -> None:
        """Look up what has to be given."""
        from panel.records.proving import asked_of

        desk, about = self.desk, self.about
        asked = asked_of(desk.store, self.act, desk.by, now=desk.now(), about=about)
        self.post_message(self.Wanted(asked))

    @on(Wanted)
    def ask(self, message: Wanted) -> None:
        """Ask for it."""
        from panel.records.proving import Wants

        self.asked = message.asked
        if self.asked.wants is Wants.NOTHING:
            self.dismiss(True)
        elif self.asked.wants is Wants.NEW_PIN:
            self.query_one("#question", Static).update(Content(f"{self.asked.question}, twice"))

    @on(DoorLine.Submitted)
    def go_on(self) -> None:
        """Check the PIN in a job; a new one once it was typed twice."""
        from panel.records.proving import Wants

        if self.asked is None:
            return
        field = self.query_one("#pin", Input)
        pin, field.value = field.value, ""
        if not pin:
            self.say("Type your PIN.")
        elif self.asked.wants is not Wants.NEW_PIN or pin == self.first:
            self.say("Looking ...")
            self.check(self.asked, pin)
        else:
            self.say("They do not match; type it anew." if self.first else "The same again.")
            self.first = "" if self.first else pin

    @work(thread=True, exclusive=True, group="proof", exit_on_error=False)
    def check(self, asked: Asked, pin: str) -> None:
        """Check in a job: the hash is slow on purpose."""
        from panel.records.proving import prove

        prove(self.desk.store, asked, pin, now=self.desk.now())
        self.note(asked)
        self.post_message(self.Known())

    def note(self, asked: Asked) -> None:
        """Write down what was opened, where that is asked for."""

    @on(Known)
    def known(self) -> None:
        """Go on; who typed the PIN once may do here what a pass may."""
        self.desk.signed_in = True
        self.dismiss(True)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say in words why it is not done."""
        if event.state is WorkerState.ERROR:
            self.first = ""
            self.say(in_words(event.worker.error), trouble=True)


class PrivateSlip(PinSlip):
    """Before what is for one person and the lead only; that it was looked at is logged."""

    TITLE_WORDS = "For one person and the lead only"
    NO_DOUBT = (
        "This can touch on a person's health. Look only where nobody else can read along, and "
        "speak of it with that person alone. That you looked stands in the log."
    )

    def __init__(self, about: str) -> None:
        super().__init__(Act.PRIVATE)
        self.whose = about

    def note(self, asked: Asked) -> None:
        """Log whose facts were looked at."""
        from panel.desk.acting import writing
        from panel.session.gate import note_looked

        with writing(self.desk.store) as db:
            note_looked(db, asked.code, now=self.desk.now(), about=self.whose)


class GivenOutSlip(PrivateSlip):
    """Before all that is kept about a person is given out; giving it out is what is logged."""

    def note(self, asked: Asked) -> None:
        """Leave the entry to the giving out itself."""


def proved(
    desk: DeskApp, act: Act, go_on: Callable[[], object], *, about: str | None = None
) -> None:
    """Go on once who sits here has proved who they are; at once where the door's PIN is enough.

    *about* is the person whom it is about, if any.
    """

    def answered(known: bool | None) -> None:
        if known:
            go_on()

    if desk.signed_in and act.pass_is_enough:
        go_on()
    else:
        desk.push_screen(PinSlip(act, about), answered)
