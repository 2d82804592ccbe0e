"""The booth: one assessor, one glass at a time, every change on disk before it is called kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from textual.message import Message
from textual.screen import ModalScreen, Screen
from textual.timer import Timer
from textual.worker import Worker, WorkerState

from panel.booth.dialogs import Ask, Tell
from panel.booth.kinds import FACES
from panel.booth.plain import PlainApp
from panel.booth.seated import SeatedScreen
from panel.booth.sign_in import SignInScreen
from panel.booth.taken import ChangedScreen, TakenScreen
from panel.booth.words import WordsScreen
from panel.clock import Clock, Stopwatch, stopwatch, utc_now
from panel.errors import (
    BoothError,
    OakpanelError,
    SeatTaken,
    StoreError,
    TablesChanged,
    WrongGlass,
    WrongState,
)
from panel.fault_log import logged
from panel.seat import said
from panel.seat.became import is_another, what_became_of
from panel.seat.jobs import Job, LookAgain
from panel.seat.keeper import Keeper
from panel.seat.kinds import Place, place_of
from panel.seat.records import (
    Kept,
    NotKept,
    NotOpened,
    NotSignedIn,
    Opened,
    Records,
    SignedIn,
    Waits,
)
from panel.seat.unsaved import unsaved_words

if TYPE_CHECKING:
    from panel.store.booth_tray import Glass, Seat, Tray
    from panel.store.engine import Store

THREADS = "records"
WAIT_S = 2.0
"""So often a booth that waits for a session looks whether one is open."""
SETTLE_S = 0.3
"""How long changes of a line gather before they are saved: a held key is one save, not thirty."""


class BoothApp(PlainApp):
    """An assessor's booth on one session; `fault` says why it could not start or go on."""

    def __init__(
        self,
        store: Store | Callable[[], Store],
        *,
        session: str | None = None,
        clock: Clock = utc_now,
        seconds: Stopwatch = stopwatch,
    ) -> None:
        super().__init__()
        self.records = Records(store, session, clock, seconds)
        self.clock = clock
        self.seat: Seat | None = None
        self.tray: Tray | None = None
        self.keeper = Keeper()
        self.fault: OakpanelError | None = None
        self._settling: Timer | None = None
        self._then: Callable[[], None] | None = None

    # ------------------------------------------------------------------ opening and signing in

    def on_mount(self) -> None:
        """Show the sign-in at once, and open the records behind it."""
        self.put_look_on()
        self.push_screen(SignInScreen())
        self.call_after_refresh(self._in_thread, self.records.open)

    def _in_thread(self, work: Callable[[], Message]) -> None:
        def whole() -> None:
            self.post_message(work())

        self.run_worker(whole, thread=True, exit_on_error=False, group=THREADS)

    def _at_sign_in(self) -> list[SignInScreen]:
        """The sign-in, if it is in front; a message may come after the last screen is gone."""
        return [screen for screen in self.screen_stack[-1:] if isinstance(screen, SignInScreen)]

    def on_opened(self, _message: Opened) -> None:
        """Go on if somebody has typed a PIN already."""
        for screen in self._at_sign_in():
            screen.records_open()

    def on_waits(self, message: Waits) -> None:
        """Wait at the sign-in until a session is open that this booth is for, and look again."""
        for screen in self._at_sign_in():
            screen.waits(message.words)
        self.set_timer(WAIT_S, partial(self._in_thread, self.records.open))

    def on_not_opened(self, message: NotOpened) -> None:
        """Without records there is no booth."""
        self.fault = message.error
        self.exit(return_code=1)

    def sign_in(self, code: str, pin: str) -> None:
        """Check code and PIN in a thread."""
        self._in_thread(partial(self.records.sign_in, code, pin))

    def on_not_signed_in(self, message: NotSignedIn) -> None:
        """Say why not."""
        for screen in self._at_sign_in():
            screen.refused(str(message.error))

    def on_signed_in(self, message: SignedIn) -> None:
        """Go to the glass in hand, or between glasses."""
        if self.seat is None or self.seat.person_id != message.seat.person_id:
            self.keeper.clear()
        self.seat, self.tray = message.seat, message.tray
        self.go_where_the_tray_says()
        if not self.keeper.idle:
            waiting = ", ".join(self.unsaved_words())
            words = f"Not kept before at this booth: {waiting}. Keep it now?"
            self.push_screen(Ask(words), self._keep_leftovers)

    def _keep_leftovers(self, yes: bool | None) -> None:
        if not yes:
            self.keeper.clear()
            self.go_where_the_tray_says()
        self.try_again()

    # ------------------------------------------------------------------ keeping

    def keep_soon(self, job: Job) -> None:
        """Have *job* saved within a moment, together with what follows at once."""
        self.keeper.add(job)
        if self._settling is None:
            self._settling = self.set_timer(SETTLE_S, self.start_keeping)

    def keep(self, job: Job) -> None:
        """Have *job* saved now, after what was asked before."""
        self.keeper.add(job)
        self.start_keeping()

    def look_again(self) -> None:
        """Read the tray anew, unless something is under way, which does that too."""
        if self.keeper.idle:
            self.keep(LookAgain())

    def try_again(self) -> None:
        """Try what failed once more, or look what the records say now."""
        self.keeper.go_on()
        self.keep(LookAgain())

    def start_keeping(self) -> None:
        """Begin with the next job, if none is under way and none failed."""
        if self._settling is not None:
            self._settling.stop()
            self._settling = None
        job = self.keeper.begin()
        if job is not None and self.seat is not None:
            self._in_thread(partial(self.records.perform, job, self.seat))

    def on_kept(self, message: Kept) -> None:
        """Show it as kept, now that it is; go on with the next."""
        self.keeper.done()
        if not any(isinstance(screen, SeatedScreen) for screen in self.screen_stack):
            return
        before, self.tray = self._glass_shown(), message.tray
        at_words = any(isinstance(screen, WordsScreen) for screen in self.screen_stack)
        if not at_words and is_another(before, message.tray):
            words, trouble = what_became_of(before, message.job, message.tray)
            self.go_where_the_tray_says(words, trouble=trouble)
        else:
            self._tell(lambda s: s.kept(message.job, self.hour(message.at, seconds=True)))
        self.start_keeping()
        self._go_if_all_kept()

    def on_not_kept(self, message: NotKept) -> None:
        """Say why; what was typed stays on the screen."""
        error = message.error
        self._then = None
        if isinstance(error, SeatTaken):
            self.keeper.failed(error)
            self._to_base(TakenScreen(str(error), self.unsaved_words()))
        elif isinstance(error, TablesChanged):
            self.keeper.failed(error)
            self.fault = error
            self._to_base(ChangedScreen(str(error), self.unsaved_words()))
        elif isinstance(error, StoreError | WrongState):
            self.keeper.failed(error)
            words = f"{error} What is marked 'not kept yet' stays here: r tries again."
            self._tell(lambda s: s.not_kept(message.job, words))
        else:
            self._refused_for_good(message.job, error)
            self.start_keeping()

    def _refused_for_good(self, job: Job, error: OakpanelError) -> None:
        self.keeper.refused()
        if isinstance(error, WrongGlass):
            self.keeper.forget_glass(getattr(job, "serving_id", 0))
        self._tell(lambda s: s.not_kept(job, str(error)))
        self.keeper.add(LookAgain())

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A fault of our own in a thread must not leave the booth waiting for ever."""
        if event.state is not WorkerState.ERROR or event.worker.group != THREADS:
            return
        where = logged(event.worker.error) if event.worker.error else ""
        fault = f"A fault of the booth's own: {event.worker.error!r}. Tell the lead."
        said = BoothError(f"{fault} {where}")
        if not self.records.are_open:
            self.on_not_opened(NotOpened(said))
        elif isinstance(self.screen, SignInScreen):
            self.screen.refused(str(said))
        else:
            self.keeper.failed(said)
            self._tell(lambda s: s.not_kept(LookAgain(), f"{said} r tries again."))

    # ------------------------------------------------------------------ where we are

    @property
    def tray_now(self) -> Tray:
        """Return the newest tray; a seated screen is shown only when there is one."""
        if self.tray is None:
            raise BoothError("Nobody is signed in at this booth.")
        return self.tray

    @property
    def whose(self) -> str:
        """Return the code of the assessor who sits here."""
        return self.seat.code if self.seat is not None else ""

    def hour(self, moment: datetime, *, seconds: bool = False) -> str:
        """Return a moment as the clock on the site's wall shows it."""
        return said.hour(self.tray_now, moment, seconds=seconds)

    def go_where_the_tray_says(self, said: str = "", *, trouble: bool = False) -> None:
        """Show the screen of the place that the assessor stands at."""
        tray = self.tray_now
        self._to_base(FACES[tray.held_as][place_of(tray)](tray, said, trouble))

    def show_words(self) -> None:
        """Show the assessor's own words in place of glass or code."""
        self.start_keeping()
        tray = self.tray_now
        self._to_base(FACES[tray.held_as][Place.NAMING](tray, "", False))

    def _to_base(self, screen: Screen[None]) -> None:
        unread = [told.words for told in self.screen_stack if isinstance(told, Tell)]
        while isinstance(self.screen, ModalScreen):
            self.pop_screen()
        self.switch_screen(screen)
        for words in unread:  # the glass may be gone by then: what to do is read all the same
            self.push_screen(Tell(words))

    def _tell(self, what: Callable[[SeatedScreen], None]) -> None:
        for screen in self.screen_stack:
            if isinstance(screen, SeatedScreen) and screen.ready:
                what(screen)

    def _glass_shown(self) -> Glass | None:
        shown = (s.glass_shown for s in self.screen_stack if isinstance(s, SeatedScreen))
        return next((glass for glass in shown if glass is not None), None)

    def unsaved_words(self) -> list[str]:
        """Return what is not on disk, as a person reads it."""
        return unsaved_words(self.tray_now, self.keeper)

    # ------------------------------------------------------------------ leaving

    def to_sign_in(self) -> None:
        """Show the sign-in again, for the session that is open by then."""
        self._to_base(SignInScreen())
        self._in_thread(self.records.open)

    def leave(self) -> None:
        """Give the booth to someone else once all is kept."""
        self._when_all_kept(self._give_up_seat)

    def _give_up_seat(self) -> None:
        if (seat := self.seat) is not None:
            self.run_worker(partial(self.records.leave, seat), thread=True, group="leaving")
        self.to_sign_in()

    async def action_quit(self) -> None:
        """Close the booth once all is kept."""
        self._when_all_kept(self.exit)

    def _when_all_kept(self, then: Callable[[], None]) -> None:
        self.start_keeping()
        self._then = then
        self._go_if_all_kept()

    def _go_if_all_kept(self) -> None:
        if self._then is None:
            return
        if self.keeper.idle:
            then, self._then = self._then, None
            then()
        elif self.keeper.trouble is not None:
            then, self._then = self._then, None
            self._ask_before_leaving(then)

    def _ask_before_leaving(self, then: Callable[[], None]) -> None:
        waiting = ", ".join(self.unsaved_words()) or "a mark"

        def answered(yes: bool | None) -> None:
            if yes:
                self.keeper.clear()
                then()

        self.push_screen(Ask(f"Not kept yet: {waiting}. Leave, and lose that?"), answered)
