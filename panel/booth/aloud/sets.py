"""A set of glasses by lines of text: answered by their numbers, asked once more, then kept."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.booth.aloud.place import Offer, Place
from panel.booth.aloud.sitting import Sitting
from panel.errors import BoothError
from panel.seat import sets_said
from panel.seat.jobs import AnswerSet
from panel.seat.values import Answering, Task, answerable, glass_in_hand, set_in_hand, task_of

if TYPE_CHECKING:
    from panel.seat.values import Glass, GlassSet

NUMBERS = re.compile(r"[1-9](\s*=?\s*[1-9])*")
HOW = {
    Task.PICK: "Type the number of the one that has more.",
    Task.SORT: "Type the number of the one that goes with 1.",
    Task.RANK: "Type the numbers, the most first, such as 2 1 3; 2=1 3 where two are equal.",
    Task.ODD: "Type the number of the odd one.",
    Task.MATCH: "Type the number of the one that is like 1, the reference.",
}


class AtSet(Place):
    """One set: heard, answered, kept."""

    def __init__(self, sitting: Sitting, one: GlassSet) -> None:
        self.one = one
        sitting.glass = glass_in_hand(sitting.tray)
        super().__init__(sitting)

    @property
    def glass_in_hand(self) -> None:
        """Name no glass in a call: any of the set may be meant, and the lead is told which."""
        return None

    def tell(self) -> None:
        """Say what is asked and which glasses stand in it."""
        self.sitting.say(
            f"{sets_said.place_words(self.tray, self.one)} {sets_said.question(self.tray)}",
            sets_said.meaning(self.tray),
            *(self._glass(n, glass) for n, glass in enumerate(self.one.glasses)),
        )
        self.sitting.say_first(sets_said.NOSE_THEM)

    def _glass(self, number: int, glass: Glass) -> str:
        task = task_of(self.tray)
        named = f", {sets_said.called(task, number)}" if task.marks_first and not number else ""
        return f"{number + 1} {glass.code}{named}"

    def typed_here(self) -> tuple[str, ...]:
        """Return how a set is answered."""
        return (HOW[task_of(self.tray)], "Enter: hear this again.")

    def turn(self) -> None:
        """Ask for the answer, and keep it on a yes."""
        now = set_in_hand(self.tray)
        if now is not None:
            self.one = now
        if short := sets_said.not_answerable(self.tray, self.one):
            if self.sitting.yes(f"{short} Leave it?"):
                self.sitting.keep(AnswerSet(self.one.number, {}))
            return
        answer = self.sitting.ask(HOW[task_of(self.tray)])
        if not answer:
            self.tell()
        elif NUMBERS.fullmatch(answer):
            self._answered(answer)
        elif not self.done_by_letter(answer):
            self.sitting.trouble("Numbers of glasses, please. ? tells what else can be typed.")

    def _answered(self, typed: str) -> None:
        given = Answering(task_of(self.tray), len(self.one.glasses))
        try:
            for sign in typed.replace(" ", ""):
                given = given.with_equal() if sign == "=" else given.with_number(int(sign) - 1)
        except BoothError as error:
            self.sitting.trouble(str(error))
            return
        if not given.whole:
            self.sitting.trouble(sets_said.not_whole(given))
            return
        words = sets_said.answer_words(self.tray, self.one, given)
        if answerable(given.task, self.one) and self.sitting.yes(f"{words} Keep it?"):
            ids = [glass.serving_id for glass in self.one.glasses]
            places = dict(zip(ids, given.places(), strict=True))
            self.sitting.keep(AnswerSet(self.one.number, places))

    def offers(self) -> Iterator[Offer]:
        """Yield what a letter does at a set."""
        yield Offer("w", "set.whole", "hear the set again", self.tell)
