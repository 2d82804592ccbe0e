"""The glass in hand, line after line; each answer is on disk before it is called kept."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.booth.aloud.held import WithGlass
from panel.booth.aloud.place import Offer
from panel.booth.aloud.sitting import Sitting
from panel.seat import said
from panel.seat.jobs import KeepScores, MarkFault, PutDown

if TYPE_CHECKING:
    from panel.seat.values import Glass, Line

HOW = (
    "Type a number for each line, or Enter alone to leave it as it is. Blank means not scored; it "
    "is not zero. ? tells what else can be typed."
)
LINE_NUMBER = re.compile(r"line\s*([0-9]{1,3})")
WHOLE = re.compile(r"-?[0-9]{1,6}")


class AtGlass(WithGlass):
    """All lines of one glass, one after the other, then what is left to do with it."""

    def __init__(self, sitting: Sitting, glass: Glass) -> None:
        super().__init__(sitting, glass)
        self.zeroed: frozenset[int] = frozenset()
        blank = [row for row, line in enumerate(self.tray.lines) if self.value(line) is None]
        self.at = blank[0] if blank else len(self.tray.lines)

    def value(self, line: Line) -> int | None:
        """Return what stands on a line: what is not kept yet before what is."""
        unsaved = self.sitting.keeper.unsaved().get(self._held.serving_id, {})
        if line.version_id in unsaved:
            return unsaved[line.version_id]
        kept = self.glass.scores.get(line.version_id)
        # What was written past the program and is no number on the line counts as blank.
        if kept is None or not line.low <= kept.value <= line.high:
            return None
        return round(kept.value)

    def blank_lines(self) -> list[Line]:
        """Return the lines without a score."""
        return [line for line in self.tray.lines if self.value(line) is None]

    # ------------------------------------------------------------------ telling

    def tell(self) -> None:
        """Say the code, the facts, and how to answer."""
        scored = len(self.tray.lines) - len(self.blank_lines())
        facts = said.glass_facts(self.tray, self.glass, scored=scored)
        self.sitting.say(f"Glass {self.glass.code} is in your hand.", *facts)
        self.sitting.say_first(HOW)

    def typed_here(self) -> tuple[str, ...]:
        """Return how lines are answered and found."""
        return (
            "A number: the value of this line. Blank means not scored; it is not zero.",
            "Enter: on to the next line, this one left as it is.",
            "line and a number, as line 3: go to that line.",
        )

    def _asked(self) -> tuple[str, ...]:
        """Return what is asked: of a line, or of the whole glass after the last."""
        if self.at < len(self.tray.lines):
            return self._line_asked(self.tray.lines[self.at])
        blank = len(self.blank_lines())
        down = f"p puts {self.glass.code} down."
        if not blank:
            return (f"Every line is scored. {down} Enter begins with the first line again.",)
        rest = "Enter goes to the first of them. n: none of the rest."
        return (f"{said.lines_are(blank)} still blank. {rest} {down}",)

    def _line_asked(self, line: Line) -> tuple[str, str]:
        place = f"Line {self.at + 1} of {len(self.tray.lines)}"
        low, high = _end(line.low, line.low_words), _end(line.high, line.high_words)
        return (
            f"{place}, {line.name}: {line.meaning or line.stage}",
            f"From {low} to {high}. {self.stands(line)}",
        )

    def stands(self, line: Line) -> str:
        """Return what stands on a line, and since when it is on disk."""
        unsaved = self.sitting.keeper.unsaved().get(self._held.serving_id, {})
        value = self.value(line)
        if line.version_id in unsaved:
            return f"Now {'blank' if value is None else value}, not kept yet."
        if value is None:
            return "Now blank."
        at = said.hour(self.tray, self.glass.scores[line.version_id].given_at, seconds=True)
        return f"Now {value}, kept {at}."

    # ------------------------------------------------------------------ answering

    def turn(self) -> None:
        """Ask about the line in hand, or about the glass after the last."""
        answer = self.sitting.ask(*self._asked())
        if not answer:
            self._onward()
        elif found := LINE_NUMBER.fullmatch(answer.lower()):
            self._go_to(int(found[1]) - 1)
        elif not self.done_by_letter(answer):
            self._score(answer)

    def _onward(self) -> None:
        if self.at < len(self.tray.lines):
            self.at += 1
            return
        blank = self.blank_lines()
        self.at = self.tray.lines.index(blank[0]) if blank else 0

    def _go_to(self, row: int) -> None:
        if 0 <= row < len(self.tray.lines):
            self.at = row
        else:
            self.sitting.trouble(f"There are {said.lines(len(self.tray.lines))}.")

    def _score(self, answer: str) -> None:
        if self.at >= len(self.tray.lines):
            self.sitting.trouble("That is none of the letters here. ? tells them.")
            return
        line = self.tray.lines[self.at]
        if not WHOLE.fullmatch(answer) or not line.low <= int(answer) <= line.high:
            self.sitting.trouble(
                f"A score on {line.name} is a whole number from {line.low} to {line.high}. "
                "For another glass, put this one down first: p."
            )
            return
        self.at += 1
        self._set({line.version_id: int(answer)})

    def _set(self, values: dict[int, int | None]) -> None:
        self.sitting.keep(KeepScores(self._held.serving_id, values))

    def offers(self) -> Iterator[Offer]:
        """Yield what a letter does at a glass."""
        yield Offer("e", "line.up", "the line above", lambda: self._go_to(max(self.at - 1, 0)))
        yield Offer("d", "line.down", "the line below, this one left as it is", self._onward)
        yield Offer("x", "line.blank", "make this line blank again", self._blank)
        yield Offer("w", "glass.whole", "hear every line of this glass", self._whole)
        yield Offer("p", "glass.put_down", "put the glass down: it is finished", self._down)
        yield Offer(
            "n", "glass.none_of_the_rest", "set every line still blank to its low end", self._rest
        )
        yield Offer(
            *("u", "glass.take_back_zeros", "make blank again what n set"), self._zeros_back
        )
        yield Offer("m", "glass.faults", "mark a fault, apart from the scores", self._faults)
        yield self.note_offer()
        yield Offer("b", "glass.back", "how to go back to a finished glass", self._back)

    def _blank(self) -> None:
        if self.at < len(self.tray.lines):
            self._set({self.tray.lines[self.at].version_id: None})

    def _whole(self) -> None:
        self.tell()
        self.sitting.say(*(f"{line.name}: {self.stands(line)}" for line in self.tray.lines))

    def _down(self) -> None:
        if not self.all_kept():
            return
        blank = [line.name for line in self.blank_lines()]
        question = said.before_putting_down(self.tray, self.glass.code, blank)
        if not question or self.sitting.yes(question):
            self.sitting.keep(PutDown(self._held.serving_id))

    def _rest(self) -> None:
        blank = self.blank_lines()
        if not blank:
            self.sitting.say("No line is blank.")
        elif self.sitting.yes(said.zeros_asked(blank)):
            self.zeroed = frozenset(line.version_id for line in blank)
            self.at = len(self.tray.lines)
            self._set({line.version_id: line.low for line in blank})
            self.sitting.say(f"{said.zeros_set(len(blank))} u takes that back.")

    def _zeros_back(self) -> None:
        still = [
            line
            for line in self.tray.lines
            if line.version_id in self.zeroed and self.value(line) == line.low
        ]
        self.zeroed = frozenset()
        if still:
            self._set({line.version_id: None for line in still})
        self.sitting.say(said.blank_again(len(still)))

    def _faults(self) -> None:
        marked = self.glass.faults
        choices = [f"{f}{': marked' if f in marked else ''}" for f in said.FAULTS]
        question = f"{said.faults_asked(self.glass.code)} A number marks one, or takes it off."
        for row in self.sitting.choose_several(question, choices):
            fault = said.FAULTS[row]
            self.sitting.keep(MarkFault(self._held.serving_id, fault, fault not in marked))

    def _back(self) -> None:
        down = "Put this glass down first: p. Then type the code of the one to go back to."
        self.sitting.say(down if self.tray.may_go_back else said.NO_GOING_BACK)


def _end(value: int, words: str) -> str:
    return f"{value} {words}".strip()
