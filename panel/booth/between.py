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

from panel.block_signs import large
from panel.booth.keys import BETWEEN_KEYS, OWN_WORD_KEYS, SEAT_KEYS
from panel.booth.seated import SeatedScreen
from panel.booth.window import KeyStrip
from panel.errors import WrongGlass
from panel.seat import between as standing
from panel.seat.between import Typed
from panel.seat.jobs import Job, LookAgain, TakeUp
from panel.session import scoring

if TYPE_CHECKING:
    from panel.store.booth_tray import Tray

LOOK_S = 4.0
"""Between two glasses the booth looks so often what the lead did meanwhile."""

ENTER = {
    Typed.READY: "Enter takes it up.",
    Typed.OUT_OF_ORDER: "Enter takes {code} all the same.",
    Typed.FINISHED: "Enter takes it up again.",
}


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

    def __init__(self, words: str = "", *, trouble: bool = False) -> None:
        super().__init__(words, trouble=trouble)
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
        told = f"\n\n{self.tray.told}" if self.tray.told else ""
        self.left.update(f"{standing.left_words(self.tray)}{told}")
        self.asked.update(standing.asked_words(self.tray))
        self.tick()

    def tick(self) -> None:
        """Show the pause as it is at this moment."""
        wait = standing.wait_s(self.tray, self.booth.clock())
        if self._waited and not wait and len(self.code) == scoring.CODE_DIGITS:
            self._judge()
        self._waited = wait > 0
        self.pause.update(standing.pause_words(self.tray, self.booth.clock()))

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
            found = standing.judged(self.tray, self.code, self.booth.clock())
        except WrongGlass as error:
            self.say(str(error), trouble=True)
            return
        enter = ENTER[found.typed].format(code=self.code)
        self.say(f"{found.said} {enter}", trouble=found.typed is Typed.OUT_OF_ORDER)

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
        self.say(standing.next_words(self.tray))

    def action_back(self) -> None:
        """Say which glasses may be taken up again."""
        self.say(standing.return_words(self.tray))

    def kept(self, job: Job, at: str) -> None:
        """Tell what changed where the records were only looked at, and judge the digits again."""
        before = self._shown
        if isinstance(job, LookAgain) and before == self.tray:
            self.end_trying()
            return
        super().kept(job, at)
        if not isinstance(job, LookAgain):
            return
        if before is not None and (anew := standing.poured_anew_words(before, self.tray)):
            self.say(anew, trouble=True)
        elif len(self.code) == scoring.CODE_DIGITS:
            self._judge()
