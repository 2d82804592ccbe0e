"""A glass that is traced, by lines of text: each second is asked for when it is there.

An answer that comes late is kept with the second it came at, and the next is asked for after it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.booth.aloud.held import WithGlass
from panel.booth.aloud.place import Offer
from panel.booth.aloud.sitting import Sitting
from panel.seat import traces_said
from panel.seat.jobs import KeepPrompt, PutDown
from panel.seat.values import answers_of, next_prompt, second_asked, since_sip_s

if TYPE_CHECKING:
    from panel.seat.values import Glass

KEYS = "0 to 9, please, then Enter. ? tells what else can be typed."


class AtTrace(WithGlass):
    """One glass, from the sip to the end of its minute."""

    def __init__(self, sitting: Sitting, glass: Glass) -> None:
        super().__init__(sitting, glass)
        since = since_sip_s(glass, sitting.records.clock())
        self._began = None if since is None else sitting.records.seconds() - since
        self._asked_for: int | None = None

    @property
    def seconds(self) -> float:
        """The seconds since the sip, 0 before it."""
        return 0.0 if self._began is None else self.sitting.records.seconds() - self._began

    def tell(self) -> None:
        """Say the code, what is followed and how."""
        self.sitting.say(
            traces_said.place_words(self.tray, self.glass),
            traces_said.meaning(self.tray),
            traces_said.ends_words(self.tray),
        )
        self.sitting.say_first(traces_said.HOW)
        self.sitting.say_first(traces_said.FREE)
        self._asked_for = None

    def typed_here(self) -> tuple[str, ...]:
        """Return how a second is answered."""
        return (KEYS, "Enter: hear again what is asked.")

    def _number(self) -> int | None:
        waiting = (
            job.number
            for job in self.sitting.keeper.under_way()
            if isinstance(job, KeepPrompt) and job.serving_id == self._held.serving_id
        )
        answered = {**answers_of(self.tray, self.glass), **dict.fromkeys(waiting)}
        return next_prompt(self.tray, answered)

    def turn(self) -> None:
        """Wait for the next second, ask for it, and keep the answer."""
        number = self._number()
        if number is None:
            self._down()
            return
        left = second_asked(self.tray, number) - self.seconds
        if left > 0:
            heard = self.sitting.hear(left)
            if heard is not None:
                self._heard(number, heard)
            return
        again = self._asked_for == number
        self._asked_for = number
        asked = "" if again else traces_said.asked(self.tray, number)
        doing = "" if again or self._began is None else traces_said.deed_words(self.seconds)
        self._heard(number, self.sitting.ask(doing, asked))

    def _heard(self, number: int, answer: str) -> None:
        seconds = self.seconds
        if not answer:
            self.tell()
        elif len(answer) == 1 and answer.isdecimal():
            if seconds < second_asked(self.tray, number):
                self.sitting.trouble(traces_said.until_words(self.tray, number))
            else:
                self._keep(number, int(answer), seconds)
        elif not self.done_by_letter(answer):
            self.sitting.trouble(KEYS)

    def _keep(self, number: int, value: int, seconds: float) -> None:
        if self._began is None:
            self._began, seconds = self.sitting.records.seconds(), 0.0
        self.sitting.keep(KeepPrompt(self._held.serving_id, number, value, seconds))
        if traces_said.ends_with(self.tray, number):
            self._down()

    def _down(self) -> None:
        if not self.all_kept():
            return
        self.sitting.say(traces_said.OVER)
        self.sitting.keep(PutDown(self._held.serving_id))

    def offers(self) -> Iterator[Offer]:
        """Yield what a letter does while a glass is traced."""
        yield Offer(
            "p", "trace.put_down", "put the glass down before its minute is over", self._end
        )
        yield self.note_offer()

    def _end(self) -> None:
        if self.sitting.yes(traces_said.before_putting_down(self.tray, self.glass)):
            self._down()
