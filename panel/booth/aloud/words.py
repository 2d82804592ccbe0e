"""An assessor's own words: each line typed is one, but for a single letter, which asks for more."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.booth.aloud.place import Offer, Place
from panel.booth.aloud.sitting import LEAVE_IT, Moved, Sitting
from panel.seat import said
from panel.seat.jobs import NameWord, RenameWord, TakeWordBack
from panel.seat.kinds import Place as Where
from panel.seat.kinds import place_of
from panel.seat.values import may_still_name

if TYPE_CHECKING:
    from panel.seat.values import Line

HOW = "Type a word, then Enter. Enter alone goes on to the glasses. ? tells what else can be typed."
ON = "Enter goes on to the glasses."
FIRST = "Name at least one word first."
UNKNOWN = "That letter means nothing here. A word has more than one. ? tells the letters."


class Naming(Place):
    """The words of one assessor: named, written anew or taken back while that is open."""

    def __init__(self, sitting: Sitting) -> None:
        sitting.glass, sitting.at_words = None, True
        super().__init__(sitting)

    def tell(self) -> None:
        """Say what to do, and the words that are on disk."""
        self.sitting.say(said.words_aim(self.tray), said.words_count(self.tray))
        own = self.tray.own
        for place, line in enumerate(self.tray.lines, start=1):
            scored = own is not None and line.version_id in own.scored
            self.sitting.say(f"{place} {line.name}: kept{', scored' if scored else ''}.")
        self.sitting.say_first(HOW)

    def typed_here(self) -> tuple[str, ...]:
        """Return how a word is named."""
        return (
            "A word, or some: keep it as a line on every glass.",
            "Enter: on to the glasses.",
        )

    def turn(self) -> None:
        """Ask for a word, as long as one can be named."""
        answer = self.sitting.ask(said.WORD_ASKED if may_still_name(self.tray) else ON)
        if not answer:
            self._to_glasses()
        elif self.done_by_letter(answer):
            return
        elif len(answer) == 1 and answer.isascii():
            self.sitting.trouble(UNKNOWN)
        else:
            self.sitting.keep(NameWord(answer))

    def offers(self) -> Iterator[Offer]:
        """Yield what a letter does among words."""
        yield Offer("m", "words.mend", "write a word anew; not once it has been scored", self._mend)
        yield Offer("x", "words.take_back", "forget a word; not once it was scored", self._back)
        yield Offer("w", "words.whole", "hear your words", self.tell)
        yield Offer("g", "words.glasses", "on to the glasses", self._to_glasses)

    def _which(self, question: str) -> Line | None:
        """Ask for one of the words that nothing was scored on."""
        own = self.tray.own
        scored = own.scored if own is not None else frozenset()
        free = [line for line in self.tray.lines if line.version_id not in scored]
        if not free:
            self.sitting.say("There is no word that was not scored yet.")
            return None
        row = self.sitting.choose(question, [line.name for line in free])
        return None if row is None else free[row]

    def _mend(self) -> None:
        line = self._which("Which word should read otherwise?")
        if line is None:
            return
        typed = self.sitting.ask(f"{line.name}: how should it read?", LEAVE_IT)
        if typed and typed != line.name:
            self.sitting.keep(RenameWord(line.version_id, typed))

    def _back(self) -> None:
        line = self._which("Which word should be forgotten?")
        if line is not None:
            self.sitting.keep(TakeWordBack(line.version_id, line.name))

    def _to_glasses(self) -> None:
        if not self.sitting.check_all_kept():
            self.sitting.trouble("Not everything is kept yet.")
        elif place_of(self.tray) is Where.NAMING:
            self.sitting.trouble(FIRST)
        else:
            self.sitting.at_words = False
            raise Moved
