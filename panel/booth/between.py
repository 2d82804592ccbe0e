"""Between two glasses: the pause, and the code of the glass that comes to hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from panel.booth.digits import large
from panel.booth.keys import BETWEEN_KEYS, OWN_WORD_KEYS, SEAT_KEYS
from panel.booth.seated import SeatedScreen
from panel.booth.window import KeyStrip
from panel.errors import WrongGlass
from panel.seat.jobs import Job, LookAgain, TakeUp
from panel.session import scoring

if TYPE_CHECKING:
    from panel.store.booth_tray import Tray

LOOK_S = 4.0
"""Between two glasses the booth looks so often what the lead did meanwhile."""


class BigCode(Widget):
    """The digits typed so far, as large as they will stand."""

    DEFAULT_CSS = "BigCode { width: 38; height: 6; color: $primary; }"
    code: reactive[str] = reactive("")

    def render(self) -> Content:
        """Draw the digits; a bar holds the place of a missing one."""
        return Content("\n".join(large(self.code.ljust(scoring.CODE_DIGITS, "_"))))


class BetweenScreen(SeatedScreen, inherit_bindings=False):
    """Type the three digits on the glass; what is wrong with them is said at once."""

    DEFAULT_CSS = """
    BetweenScreen > Vertical { align: center middle; height: 1fr; }
    BetweenScreen Static { width: 100%; text-align: center; height: auto; }
    BetweenScreen BigCode { margin: 1 0; }
    BetweenScreen .centred { width: 100%; height: auto; align: center middle; }
    BetweenScreen #pause { text-style: bold; }
    BetweenScreen #left { color: $secondary; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [*BETWEEN_KEYS, *OWN_WORD_KEYS, *SEAT_KEYS]

    def __init__(self, said: str = "", *, trouble: bool = False) -> None:
        super().__init__(said, trouble=trouble)
        self.code = ""
        self._waited = False
        self._shown: Tray | None = None
        self.asked = Static(markup=False)
        self.big_code = BigCode()
        self.pause = Static(id="pause", markup=False)
        self.left = Static(id="left", markup=False)

    def compose(self) -> ComposeResult:
        """Lay out the question, the digits, the pause and what is left."""
        yield self.top
        with Vertical():
            yield self.asked
            with Vertical(classes="centred"):
                yield self.big_code
            yield self.pause
            yield self.left
        yield self.say_line
        yield KeyStrip()

    def on_mount(self) -> None:
        """Let the pause run down; the class above fills in."""
        self.set_interval(1, self.tick)
        self.set_interval(LOOK_S, self.booth.look_again)

    def show_tray(self) -> None:
        """Show what is left and how long the pause lasts."""
        super().show_tray()
        self._shown = self.tray
        done = scoring.left(self.tray)
        flight = f"Flight {done.flight} of {done.flights}: " if done.flights > 1 else ""
        words = f"{flight}{done.done_in_flight} of {done.glasses_in_flight} glasses done"
        in_all = f"; {done.done} of {done.glasses} in all" if done.flights > 1 else ""
        self.left.update(words + in_all)
        self.asked.update(self._asked(all_done=done.done == done.glasses))
        self.tick()

    def _asked(self, *, all_done: bool) -> str:
        if all_done:
            return "All your glasses are done. Thank you. The lead closes the session."
        return "Type the three digits on the glass in your hand."

    def tick(self) -> None:
        """Show the pause as it is at this moment."""
        wait = self._wait_s()
        if self._waited and not wait and len(self.code) == scoring.CODE_DIGITS:
            self._judge()
        self._waited = wait > 0
        words = f"Pause: the next glass in {scoring.minutes(wait)}" if wait else self._ready()
        self.pause.update(words)

    def _ready(self) -> str:
        taken = any(glass.finished_at for glass in self.tray.glasses)
        more = scoring.planned_next(self.tray) is not None
        return "The pause is over." if taken and more else ""

    def _wait_s(self) -> int:
        if scoring.planned_next(self.tray) is None:
            return 0
        return scoring.pause_left_s(self.tray, self.booth.clock())

    def action_digit(self, digit: str) -> None:
        """Add a digit to the code; after three a new code begins."""
        typed = self.code if len(self.code) < scoring.CODE_DIGITS else ""
        self._type(typed + digit)

    def action_back_digit(self) -> None:
        """Take the last digit away."""
        self._type(self.code[:-1])

    def _type(self, code: str) -> None:
        self.code = code
        self.big_code.code = code
        self.say("")
        if len(code) == scoring.CODE_DIGITS:
            self._judge()

    def _judge(self) -> None:
        try:
            glass = scoring.may_take(self.tray, self.code, self.booth.clock())
        except WrongGlass as error:
            self.say(str(error), trouble=True)
            return
        if glass.finished_at is not None:
            self.say(f"{self.code} is finished. Enter takes it up again.")
        elif order := scoring.order_said(self.tray, glass):
            self.say(f"{order} Enter takes {self.code} all the same.", trouble=True)
        else:
            self.say(f"{self.code} is on your tray. Enter takes it up.")

    def action_take(self) -> None:
        """Take up the glass typed, if it may be; the records have the last word."""
        if len(self.code) < scoring.CODE_DIGITS:
            self.say("A code has three digits. Type the one on the glass in your hand.")
            return
        try:
            scoring.may_take(self.tray, self.code, self.booth.clock())
        except WrongGlass as error:
            self.say(str(error), trouble=True)
            self.booth.look_again()
            return
        self.booth.keep(TakeUp(self.code))

    def action_which(self) -> None:
        """Say the next code in the planned order."""
        glass = scoring.planned_next(self.tray)
        if glass is None:
            self.say("Nothing is left on your tray.")
            return
        warm_up = " (the warm-up glass)" if glass.warm_up else ""
        self.say(f"Next on your tray: {glass.code}{warm_up}.")

    def action_back(self) -> None:
        """Say which glasses may be taken up again."""
        again = scoring.open_to_return(self.tray)
        if again:
            codes = ", ".join(glass.code for glass in again)
            self.say(f"Type the code of the glass to go back to: {codes}.")
        elif self.tray.may_go_back:
            self.say("No glass of this flight is finished yet.")
        else:
            self.say("This session does not go back to a finished glass.")

    def kept(self, job: Job, at: str) -> None:
        """Tell what changed where the records were only looked at, and judge the digits again."""
        before = self._shown
        if isinstance(job, LookAgain) and before == self.tray:
            return
        super().kept(job, at)
        if not isinstance(job, LookAgain):
            return
        if before is not None and (anew := scoring.poured_anew(before, self.tray)):
            self.say(" ".join(map(scoring.poured_anew_words, anew)), trouble=True)
        elif len(self.code) == scoring.CODE_DIGITS:
            self._judge()
