"""Signing in: the assessor's code and PIN."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import Screen
from textual.widgets import Input, Static

from panel.booth.frame import KeyStrip, SayLine, TopLine
from panel.booth.keys import key

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
    ]

    def __init__(self, said: str = "") -> None:
        super().__init__()
        self.said = said
        self._sent = False

    @property
    def booth(self) -> BoothApp:
        """Return the app."""
        return cast("BoothApp", self.app)

    def compose(self) -> ComposeResult:
        """Lay out the two fields."""
        yield TopLine()
        with Vertical(), Vertical(id="form"):
            yield Static("Your code", markup=False)
            yield Input(id="code", max_length=40)
            yield Static("Your PIN (it does not show), then Enter", markup=False)
            yield Input(id="pin", password=True, max_length=12)
        yield SayLine()
        yield KeyStrip()

    def on_mount(self) -> None:
        """Say what there is to say."""
        self.query_one(SayLine).say(self.said, trouble=bool(self.said))
        self.show_place()

    def show_place(self) -> None:
        """Name the session, once the records are open."""
        place = f"Oakpanel booth  {self.booth.records.session or ''}"
        self.query_one(TopLine).place = place.rstrip()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Leave Enter in the field of the PIN to that field, which has all digits by then."""
        return not (action == "onward" and self.focused is self.query_one("#pin", Input))

    def action_onward(self) -> None:
        """Go on to the PIN: at once, so that it can never show in the field of the code."""
        self.set_focus(self.query_one("#pin", Input))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Sign in."""
        event.stop()
        self.submit()

    def submit(self) -> None:
        """Try the two, once the records are open."""
        code = self.query_one("#code", Input).value.strip()
        pin = self.query_one("#pin", Input).value
        if not code or not pin:
            self.query_one(SayLine).say("Type your code and your PIN.")
            return
        self._sent = True
        if not self.booth.records.are_open:
            self.query_one(SayLine).say("One moment: the records are being opened ...")
            return
        self.query_one(SayLine).say("Looking ...")
        self.query_one("#pin", Input).value = ""
        self.booth.sign_in(code, pin)

    def records_open(self) -> None:
        """Go on where somebody was faster than the records."""
        self.show_place()
        if self._sent:
            self.submit()

    def refused(self, why: str) -> None:
        """Say why not; the PIN is typed again."""
        self._sent = False
        self.query_one(SayLine).say(why, trouble=True)
        self.query_one("#pin", Input).focus()
