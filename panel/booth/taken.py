"""This booth no longer saves: why is said, and what it could not keep, so that nothing is lost."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from panel.booth.keys import key
from panel.booth.window import KeyStrip, TopLine
from panel.seat.said import KEPT_IS_SAFE, TELL_LEAD

if TYPE_CHECKING:
    from panel.booth.app import BoothApp


class StoppedScreen(Screen[None]):
    """This booth no longer saves; what it could not keep is written here."""

    DEFAULT_CSS = """
    StoppedScreen VerticalScroll { height: 1fr; align: center middle; }
    StoppedScreen Static { width: 70; max-width: 100%; height: auto; }
    """

    def __init__(self, why: str, unsaved: Sequence[str]) -> None:
        super().__init__()
        self.why = why
        self.unsaved = tuple(unsaved)
        self.top = TopLine()

    def compose(self) -> ComposeResult:
        """Lay out what happened and what was not kept."""
        yield self.top
        with VerticalScroll():
            yield Static(self._words(), markup=False)
        yield KeyStrip()

    def on_mount(self) -> None:
        """Show whose booth it was."""
        booth = cast("BoothApp", self.app)
        self.top.place, self.top.whose = (
            f"Oakpanel booth  {booth.records.session or ''}",
            booth.whose,
        )

    def _words(self) -> str:
        raise NotImplementedError


class TakenScreen(StoppedScreen):
    """Another booth of the same assessor took over."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key(
            "enter",
            "again",
            "Sign in here",
            "taken.again",
            "Sign in at this booth again; the other one then stops saving",
        ),
    ]

    def _words(self) -> str:
        parts = [f"! {self.why}", KEPT_IS_SAFE]
        if self.unsaved:
            parts.append("Not kept from here:\n" + "\n".join(f"  {row}" for row in self.unsaved))
            parts.append("Sign in here again to keep them, or type them at the other booth.")
        parts.append(TELL_LEAD)
        return "\n\n".join(parts)

    def action_again(self) -> None:
        """Go to the sign-in."""
        cast("BoothApp", self.app).to_sign_in()


class ChangedScreen(StoppedScreen):
    """The tables were changed while the booth was open: it has to be started anew."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key(
            "enter",
            "close",
            "Close the booth",
            "changed.close",
            "Close this booth; started anew it knows the new tables",
        ),
    ]

    def _words(self) -> str:
        parts = [f"! {self.why}"]
        if self.unsaved:
            parts.append("Not kept from here:\n" + "\n".join(f"  {row}" for row in self.unsaved))
            parts.append("Write that down and type it again at the new booth.")
        parts.append("If it does not open, tell the lead.")
        return "\n\n".join(parts)

    def action_close(self) -> None:
        """Leave; the shell says why once more."""
        self.app.exit(return_code=1)
