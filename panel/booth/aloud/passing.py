"""The glass in hand of a passing session, by lines: pass it, or name the fault and hold it."""

from __future__ import annotations

from collections.abc import Iterator

from panel.booth.aloud.held import WithGlass
from panel.booth.aloud.place import Offer
from panel.seat import passing, said
from panel.seat.jobs import MarkFault, PutDown


class Passed(WithGlass):
    """One glass: p passes, numbers name faults, h holds with what is named."""

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
        yield self.note_offer()
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
        if not self.all_kept():
            return
        self.sitting.keep(PutDown(self._held.serving_id))

    def _back(self) -> None:
        down = "Pass or hold this one first. Then type the code of the one to go back to."
        self.sitting.say(down if self.tray.may_go_back else said.NO_GOING_BACK)
