"""The whole plain booth: it waits for a session, asks code and PIN, goes from glass to glass."""

from __future__ import annotations

from contextlib import suppress
from typing import NoReturn

from panel.booth.aloud.kinds import standing
from panel.booth.aloud.sitting import Leaves, Moved, Sitting, Stopped
from panel.booth.aloud.terminal import InputEnded, Terminal
from panel.errors import OakpanelError, SeatTaken
from panel.seat import said
from panel.seat.keeper import Keeper
from panel.seat.records import NotOpened, NotSignedIn, Opened, Records, SignedIn, Waits

WAIT_S = 2.0
"""So often a booth that waits for a session looks whether one is open."""
CODE_ASKED = "Your code, then Enter. Ctrl-c closes this booth."
PIN_ASKED = "Your PIN, then Enter. It does not show."
CLOSED = "The booth is closed."
SAME_GLASS = "All that was said as kept is on disk: sign in again, and you are at the same glass."


class PlainBooth:
    """An assessor's booth by lines; `fault` says why it could not start or go on."""

    def __init__(self, records: Records, terminal: Terminal) -> None:
        self.records, self.terminal = records, terminal
        self.keeper = Keeper()
        self.sitting: Sitting | None = None
        self.fault: OakpanelError | None = None

    def run(self) -> int:
        """Sit until the booth is closed; return 0, or 1 where something was not kept."""
        try:
            self._sit_ever_on()
        except Leaves:
            self.terminal.say(f"{CLOSED} {SAME_GLASS}")
        except Stopped as stop:
            self.fault = stop.error
        except InputEnded:
            with suppress(InputEnded):
                self._say_end()
        return 0 if self.fault is None and self.keeper.idle else 1

    def _sit_ever_on(self) -> NoReturn:
        """Let one after the other sit here."""
        while True:
            self._open()
            signed = self._sign_in()
            try:
                self._sit(signed)
            except Leaves as leaves:
                self.give_up_seat()
                if leaves.closes:
                    raise
                self.terminal.say(f"{signed.seat.code} has left. {said.KEPT_IS_SAFE}")
            except Stopped as stop:
                self._say_stopped(stop.error)
                if not isinstance(stop.error, SeatTaken):
                    raise

    # ------------------------------------------------------------------ before a seat

    def _open(self) -> None:
        """Open the records; where no session is open yet, wait for it."""
        told = ""
        while True:
            message = self.records.open()
            if isinstance(message, NotOpened):
                raise Stopped(message.error)
            if isinstance(message, Opened):
                self._say_all(
                    said.OPEN_NOW if told else "", f"Oakpanel booth, session {message.session}."
                )
                return
            if isinstance(message, Waits) and message.words != told:
                told = message.words
                self.terminal.say(f"{told} This booth waits, and goes on by itself.")
            # What is typed meanwhile is nobody's answer, and does not show.
            self.terminal.hear(WAIT_S, unseen=True)

    def _sign_in(self) -> SignedIn:
        """Ask code and PIN until they fit; what does not fit is never told apart."""
        self.terminal.say(said.NOSING_ROOM)
        while True:
            code = self._answer(CODE_ASKED)
            pin = self._answer(PIN_ASKED, unseen=True) if code else ""
            if not code or not pin:
                self.terminal.say(said.FILL_IN)
                continue
            message = self.records.sign_in(code, pin)
            if isinstance(message, SignedIn):
                return message
            if isinstance(message, NotSignedIn):
                self.terminal.say(f"Attention: {message.error}")

    def _answer(self, question: str, *, unseen: bool = False) -> str:
        self.terminal.say(question)
        heard = None
        while heard is None:
            heard = self.terminal.hear(unseen=unseen)
        return heard

    # ------------------------------------------------------------------ at a seat

    def _sit(self, signed: SignedIn) -> NoReturn:
        """Go from place to place until the assessor leaves."""
        before = self.sitting
        if before is None or before.seat.person_id != signed.seat.person_id:
            self.keeper.clear()
        sitting = Sitting(self.records, self.terminal, self.keeper, signed.seat, signed.tray)
        self.sitting = sitting
        sitting.say(f"{signed.seat.code} is signed in.")
        with suppress(Moved):
            self._keep_leftovers(sitting)
        while True:
            with suppress(Moved):
                standing(sitting).stand()

    def _keep_leftovers(self, sitting: Sitting) -> None:
        """Ask about what this booth could not keep when another took its seat."""
        if self.keeper.idle:
            return
        waiting = ", ".join(sitting.unsaved())
        self.keeper.go_on()
        if not sitting.yes(f"Not kept before at this booth: {waiting}. Keep it now?"):
            self.keeper.clear()
        sitting.keep()

    # ------------------------------------------------------------------ after it

    def give_up_seat(self) -> None:
        """End the seat of whoever sat here last."""
        if self.sitting is not None:
            self.records.leave(self.sitting.seat)
            self.sitting = None

    def _say_stopped(self, error: OakpanelError) -> None:
        """Say why this booth no longer saves, and what it could not keep."""
        unsaved = self.sitting.unsaved() if self.sitting is not None else []
        self._say_all(f"Attention: {error}", said.KEPT_IS_SAFE)
        self._say_all(*(f"Not kept from here: {each}." for each in unsaved))
        if isinstance(error, SeatTaken):
            again = "Sign in here again to keep that, or type it at the other booth."
            self._say_all(again if unsaved else "", said.TELL_LEAD)
        elif unsaved:
            self.terminal.say("Write that down and type it again at the new booth.")

    def _say_end(self) -> None:
        """Say what is on disk where nobody answers any more; what was not is tried once more."""
        sitting = self.sitting
        if sitting is not None and not self.keeper.idle:
            with suppress(Moved, Stopped):
                sitting.keep()
            self._say_all(*(f"Not kept: {each}." for each in sitting.unsaved()))
        self._say_all(CLOSED, SAME_GLASS if sitting is not None else "")

    def _say_all(self, *facts: str) -> None:
        for fact in filter(None, facts):
            self.terminal.say(fact)
