"""The glass in hand of a passing session, by lines: pass it, or name the fault and hold it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.booth.aloud.place import Offer, Place
from panel.booth.aloud.sitting import LEAVE_IT, Sitting
from panel.seat import passing, said
from panel.seat.jobs import KeepNote, MarkFault, PutDown

if TYPE_CHECKING:
    from panel.seat.values import Glass

NO_NOTE = "-"


class Passed(Place):
    """One glass: p passes, numbers name faults, h holds with what is named."""

    def __init__(self, sitting: Sitting, glass: Glass) -> None:
        self._held = sitting.glass = glass
        super().__init__(sitting)

    @property
    def glass(self) -> Glass:
        """Return the newest facts about this glass."""
        number = self._held.serving_id
        return next((g for g in self.tray.glasses if g.serving_id == number), self._held)

    def tell(self) -> None:
        """Say the code, the facts, and the numbers of the faults."""
        facts = passing.passing_facts(self.tray, self.glass)
        self.sitting.say(f"Glass {self.glass.code} is in your hand.", *facts)
        self.sitting.say_first(passing.ASKED)

    def typed_here(self) -> tuple[str, ...]:
        """Return how a glass is passed and held."""
        faults = (f"{n}: {fault}." for n, fault in enumerate(passing.FAULTS, start=1))
        return ("p: pass it.", "Numbers with spaces between: name faults and hold it.", *faults)

    def turn(self) -> None:
        """Ask for the one letter or number that ends the glass."""
        answer = self.sitting.ask("p passes it. A number of a fault holds it; ? tells the numbers.")
        numbers = answer.split()
        if not answer:
            self.tell()
        elif all(part.isdecimal() for part in numbers):
            self._hold(numbers)
        elif not self.done_by_letter(answer):
            self.sitting.trouble("p, or numbers of faults. ? tells what else can be typed.")

    def offers(self) -> Iterator[Offer]:
        """Yield what a letter does at a glass."""
        yield Offer("p", "pass.pass", "pass it: nothing is wrong with it", self._pass)
        yield Offer("t", "glass.note", "write something about this glass", self._note)
        yield Offer("b", "glass.back", "how to go back to a finished glass", self._back)

    def _pass(self) -> None:
        if self.glass.faults:
            self.sitting.trouble(passing.still_marked(self.glass.code, self.glass.faults))
            if not self.sitting.yes("Take that off and pass it?"):
                return
            for fault in sorted(self.glass.faults):
                self.sitting.keep(MarkFault(self._held.serving_id, fault, False))
        self._down()

    def _hold(self, numbers: list[str]) -> None:
        if not all(1 <= int(number) <= len(passing.FAULTS) for number in numbers):
            self.sitting.trouble(f"Faults have the numbers 1 to {len(passing.FAULTS)}.")
            return
        wanted = {passing.FAULTS[int(number) - 1] for number in numbers}
        for fault in passing.FAULTS:
            if (fault in wanted) != (fault in self.glass.faults):
                self.sitting.keep(MarkFault(self._held.serving_id, fault, fault in wanted))
        self._down()

    def _down(self) -> None:
        if not self.sitting.check_all_kept():
            self.sitting.trouble("Not everything is kept yet: this glass stays in your hand.")
            return
        self.sitting.keep(PutDown(self._held.serving_id))

    def _note(self) -> None:
        now = f"Now: {self.glass.note}" if self.glass.note else "There is none now."
        how = f"{LEAVE_IT} {NO_NOTE} alone takes it away."
        text = self.sitting.ask(said.note_asked(self.glass.code), now, how)
        if text:
            self.sitting.keep(KeepNote(self._held.serving_id, "" if text == NO_NOTE else text))

    def _back(self) -> None:
        down = "Pass or hold this one first. Then type the code of the one to go back to."
        self.sitting.say(down if self.tray.may_go_back else said.NO_GOING_BACK)
