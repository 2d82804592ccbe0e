"""Signing in: the assessor's code and PIN."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import Screen
from textual.widgets import Input, Static

from panel.booth.keys import key
from panel.booth.window import KeyStrip, SayLine, TopLine
from panel.seat.said import FILL_IN, NOSING_ROOM, OPEN_NOW

if TYPE_CHECKING:
    from panel.booth.app import BoothApp


class SignInScreen(Screen[None]):
    """Code, PIN, Enter. What does not fit is never told apart."""

    DEFAULT_CSS = """
    SignInScreen > Vertical { align: center middle; height: 1fr; }
    SignInScreen #form { width: 44; height: auto; }
    SignInScreen #form Static { height: auto; color: $secondary; }
    SignInScreen Input { margin-bottom: 1; }
    SignInScreen SayLine { height: 3; }
    """
    AUTO_FOCUS = "#code"
    BINDINGS: ClassVar[list[BindingType]] = [
        key(
            "enter",
            "onward",
            "Go on, sign in",
            "sign_in.onward",
            "From the code to the PIN, then sign in",
        ),
        # A question mark would be typed into the code or, unseen, into the PIN.
        key("f1", "app.keys", "Help", "booth.help", "All keys of this screen"),
        key("ctrl+q", "app.quit", "Leave", "sign_in.leave", "Close the booth"),
    ]

    def __init__(self, said: str = "") -> None:
        super().__init__()
        self.said = said
        self._sent = self._waiting = False
        self.top = TopLine()
        self.say_line = SayLine()
        self.code_field = Input(id="code", max_length=40)
        self.pin_field = Input(id="pin", password=True, max_length=12)

    @property
    def booth(self) -> BoothApp:
        """Return the app."""
        return cast("BoothApp", self.app)

    def compose(self) -> ComposeResult:
        """Lay out the two fields."""
        yield self.top
        with Vertical(), Vertical(id="form"):
            yield Static("Your code", markup=False)
            yield self.code_field
            yield Static("Your PIN (it does not show), then Enter", markup=False)
            yield self.pin_field
            yield Static(NOSING_ROOM, markup=False)
        yield self.say_line
        yield KeyStrip()

    def on_mount(self) -> None:
        """Say what there is to say."""
        self.say_line.say(self.said, trouble=bool(self.said))
        self.show_place()

    def show_place(self) -> None:
        """Name the session, once the records are open."""
        place = f"Oakpanel booth  {self.booth.records.session or ''}"
        self.top.place = place.rstrip()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Leave Enter in the field of the PIN to that field, which has all digits by then."""
        return not (action == "onward" and self.focused is self.pin_field)

    def action_onward(self) -> None:
        """Go on to the PIN: at once, so that it can never show in the field of the code."""
        self.set_focus(self.pin_field)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Sign in."""
        event.stop()
        self.submit()

    def submit(self) -> None:
        """Try the two, once the records are open."""
        code = self.code_field.value.strip()
        pin = self.pin_field.value
        if not code or not pin:
            self.say_line.say(FILL_IN)
            return
        self._sent = True
        if self._waiting:
            self.pin_field.value = ""
            self._sent = False
            return
        if not self.booth.records.are_open:
            self.say_line.say("One moment: the records are being opened ...")
            return
        self.say_line.say("Looking ...")
        self.pin_field.value = ""
        self.booth.sign_in(code, pin)

    def records_open(self) -> None:
        """Go on where somebody was faster than the records."""
        self.show_place()
        if self._waiting:
            self._waiting = False
            self.say_line.say(OPEN_NOW)
        if self._sent:
            self.submit()

    def waits(self, why: str) -> None:
        """Say what the booth waits for; nothing that was typed is held meanwhile."""
        if self._sent:
            self.pin_field.value = ""
        self._sent, self._waiting = False, True
        self.show_place()
        self.say_line.say(f"{why} This booth waits, and goes on by itself.")

    def refused(self, why: str) -> None:
        """Say why not; the PIN is typed again."""
        self._sent = False
        self.say_line.say(why, trouble=True)
        self.pin_field.focus()
