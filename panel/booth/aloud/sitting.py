"""One assessor at a plain booth: what is said, asked and kept, in this order and one at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.message import Message

from panel.booth.aloud.terminal import Terminal
from panel.errors import (
    NotOpenNow,
    OakpanelError,
    SeatTaken,
    StoreError,
    TablesChanged,
    WrongGlass,
    WrongState,
)
from panel.fault_log import logged
from panel.seat import between, said
from panel.seat.became import is_another, what_became_of
from panel.seat.jobs import Job, KeepScores, LookAgain
from panel.seat.keeper import Keeper
from panel.seat.records import Kept, NotKept, Records
from panel.seat.unsaved import unsaved_words
from panel.session import scoring

if TYPE_CHECKING:
    from panel.seat.values import Glass, Seat, Tray

LOOK_S = 4.0
"""So often a booth that awaits an answer looks what the lead did meanwhile."""
NO_CALL = "No call for the lead is open any more."
TRIED_AGAIN = "It stays here and is tried again with what you answer next; r tries at once."
LEAVE_IT = "Enter alone leaves it as it was."
IS_YES, IS_NO = ("y", "yes"), ("n", "no", "")


class Moved(Exception):
    """The assessor stands elsewhere now: another glass, or none."""


class Leaves(Exception):
    """The assessor gives the booth to somebody else, or closes it."""

    def __init__(self, *, closes: bool) -> None:
        super().__init__()
        self.closes = closes


class Stopped(Exception):
    """This booth no longer saves."""

    def __init__(self, error: OakpanelError) -> None:
        super().__init__(str(error))
        self.error = error


class Sitting:
    """A seat, its tray as it was read last, and the terminal in front of it."""

    def __init__(
        self, records: Records, terminal: Terminal, keeper: Keeper, seat: Seat, tray: Tray
    ) -> None:
        self.records, self.terminal, self.keeper = records, terminal, keeper
        self.seat, self.tray = seat, tray
        self.glass: Glass | None = None
        self.at_words = False
        self._waited = False
        self._trouble = ""
        self._shut = False
        self._told: set[str] = set()

    # ------------------------------------------------------------------ speaking and asking

    def say(self, *facts: str) -> None:
        """Say facts, each on a line of its own."""
        for fact in filter(None, facts):
            self.terminal.say(fact)

    def say_first(self, fact: str) -> None:
        """Say what whoever sits here hears once."""
        self.say("" if fact in self._told else fact)
        self._told.add(fact)

    def trouble(self, fact: str) -> None:
        """Say what went otherwise than was wanted; a word tells it, not a colour."""
        self.say(f"Attention: {fact}" if fact else "")

    def ask(self, *question: str) -> str:
        """Ask, and return the answer; what the lead does meanwhile is said as it happens.

        Raises
        ------
        Moved
            The question is over: the glass is not in hand any more.
        """
        self.say(*question)
        while True:
            self._waited = self._wait_s() > 0
            heard = self.terminal.hear(min(LOOK_S, self._wait_s() or LOOK_S))
            if heard is not None:
                return heard
            if self.keeper.idle:
                self.keep(LookAgain())
            if self._waited and not self._wait_s():
                self.say(between.pause_over(self.tray))

    def hear(self, within_s: float) -> str | None:
        """Return a line that comes within so many seconds, None without one; nothing is asked."""
        return self.terminal.hear(within_s)

    def _wait_s(self) -> int:
        """Return the seconds of pause that are left for somebody without a glass."""
        return 0 if self.glass else between.wait_s(self.tray, self.records.clock())

    def yes(self, question: str) -> bool:
        """Ask what is answered by yes or no; Enter alone is no."""
        answer = self.ask(question, "y: yes. n or Enter: no.").lower()
        while answer not in (*IS_YES, *IS_NO):
            answer = self.ask("y or n?").lower()
        return answer in IS_YES

    def choose(self, question: str, choices: Sequence[str]) -> int | None:
        """Ask for one of a few by its number; None where it is left."""
        asked = self._numbered(question, choices, f"A number. {LEAVE_IT}")
        while answer := self.ask(*asked):
            if answer.isdecimal() and 1 <= int(answer) <= len(choices):
                return int(answer) - 1
            asked = (f"A number from 1 to {len(choices)}, or Enter.",)
        return None

    def choose_several(self, question: str, choices: Sequence[str]) -> tuple[int, ...]:
        """Ask for some of a few by their numbers; none where it is left."""
        asked = self._numbered(question, choices, f"Numbers with blanks between. {LEAVE_IT}")
        while answer := self.ask(*asked).split():
            if all(each.isdecimal() and 1 <= int(each) <= len(choices) for each in answer):
                return tuple(sorted({int(each) - 1 for each in answer}))
            asked = (f"Numbers from 1 to {len(choices)}, or Enter.",)
        return ()

    def _numbered(self, question: str, choices: Sequence[str], how: str) -> tuple[str, ...]:
        return (question, *(f"{n} {words}" for n, words in enumerate(choices, start=1)), how)

    # ------------------------------------------------------------------ keeping

    def keep(self, *jobs: Job) -> bool:
        """Have jobs done in their order, with what waits from before; say what became of each.

        Returns whether all is on disk.

        Raises
        ------
        Moved
            Another glass is in hand by then, or none.
        Stopped
            This booth no longer saves.
        """
        self.keeper.go_on()
        for asked in jobs:
            self.keeper.add(asked)
        moved = False
        while (job := self.keeper.begin()) is not None:
            message = self._performed(job)
            if isinstance(message, Kept):
                moved = self._kept(message) or moved
            elif isinstance(message, NotKept):
                self._not_kept(message.job, message.error)
        if moved:
            raise Moved
        return self.keeper.idle

    def _performed(self, job: Job) -> Message:
        try:
            return self.records.perform(job, self.seat)
        except Exception as error:  # noqa: BLE001 - a fault of our own is said, and logged
            kind = type(error).__name__
            words = f"A fault of the booth's own: {kind}. Tell the lead. {logged(error)}"
            return NotKept(job, StoreError(words))

    def _kept(self, message: Kept) -> bool:
        """Say it, now that it is on disk; return whether another glass is in hand, or none."""
        self.keeper.done()
        self._trouble = ""
        self.say(said.OPEN_AGAIN if self._shut else "")
        self._shut = False
        before, self.tray = self.tray, message.tray
        if not self.at_words and is_another(self.glass, message.tray):
            words, bad = what_became_of(self.glass, message.job, message.tray)
            self.glass = None
            self.trouble(words) if bad else self.say(words)
            return True
        at = said.hour(message.tray, message.at, seconds=True)
        if isinstance(message.job, KeepScores):
            self.say(*self._scores_kept(message.job, at))
        else:
            self.say(said.kept_words(message.job, message.tray, at))
        self._tell_news(before, message.tray, by_lead=isinstance(message.job, LookAgain))
        return False

    def _scores_kept(self, job: KeepScores, at: str) -> list[str]:
        names = {line.version_id: line.name for line in self.tray.lines}
        return [
            f"{names.get(line, '')} {'blank' if value is None else value}, kept {at}."
            for line, value in job.values.items()
        ]

    def _tell_news(self, before: Tray, now: Tray, *, by_lead: bool) -> None:
        """Say what the lead did meanwhile."""
        self.trouble(between.poured_anew_words(before, now))
        if before.calls and not now.calls:
            self.say(NO_CALL)
        if by_lead and not self.at_words and scoring.left(before) != scoring.left(now):
            self.say(between.left_words(now), "" if self.glass else between.asked_words(now))

    def _not_kept(self, job: Job, error: OakpanelError) -> None:
        if isinstance(error, SeatTaken | TablesChanged):
            self.keeper.failed(error)
            raise Stopped(error)
        if isinstance(error, StoreError | WrongState):
            self.keeper.failed(error)
            self._say_waiting(job, error)
            return
        self.keeper.refused()
        if isinstance(error, WrongGlass):
            self.keeper.forget_glass(getattr(job, "serving_id", 0))
        self.trouble(str(error))
        self.keeper.add(LookAgain())

    def _say_waiting(self, job: Job, error: OakpanelError) -> None:
        """Say why something is not on disk; what a look finds again and again is said once."""
        told = str(error)
        self._shut = self._shut or isinstance(error, NotOpenNow)
        if not (isinstance(job, LookAgain) and told == self._trouble):
            self.trouble(told)
        self._trouble = told
        if self.keeper.trouble is not None:
            self.say(*(f"Not kept yet: {each}." for each in self.unsaved()), TRIED_AGAIN)

    def unsaved(self) -> list[str]:
        """Return what is not on disk, as a person reads it."""
        return unsaved_words(self.tray, self.keeper)

    # ------------------------------------------------------------------ leaving

    def leave(self, *, closes: bool) -> None:
        """Leave the booth once all is kept; where something is not, only when it is said so."""
        if not self.keeper.idle and not self.keep():
            waiting = ", ".join(self.unsaved()) or "a mark"
            if not self.yes(f"Not kept yet: {waiting}. Leave, and lose that?"):
                return
            self.keeper.clear()
        raise Leaves(closes=closes)

    def check_all_kept(self) -> bool:
        """Say whether all is on disk, after one more try; where not, that was said."""
        return self.keeper.idle or self.keep()
