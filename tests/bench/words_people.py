"""Rows: words on people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import pandas as pd

from analysis.agreement import Agreement, AgreementSettings, AssessorWord, assess_agreement
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.one_session.habits import Repeats
from analysis.agreement.one_session.standing import Standing, astray, standing_of
from analysis.agreement.one_session.with_panel import Told, told_beside
from tests.bench.word_rates import Row
from tests.bench.word_worlds import REAL, SIZES, Casks, Flight, Guess, Tails

SETTINGS = AgreementSettings(permutations=499, bootstraps=99)
WIDTHS = (AssessorWord.WIDER, AssessorWord.NARROWER)
UNSTEADY = (AssessorWord.UNSTEADY,)
RULES = {
    "reads with the panel": "over the notes that the others alone told apart: mean correlation "
    "with the others' means at least .35, and p at most .042 with the person's whole glasses "
    "changed about, all notes together; a note's word only of one who passed",
    "less steady than the others": "distance between two nosings pooled over notes 1.5 times "
    "that of the others, p at most .045 with anybody's in each glass",
}


@dataclass(frozen=True)
class Session:
    """The last of so many sessions of a flight, judged with those before it."""

    flight: Flight
    visits: int = 1

    def __call__(self, seed: int) -> Agreement:
        """Draw and judge."""
        drawn = self.flight.sessions(seed, self.visits)
        recent = pd.concat(drawn[:-1]) if self.visits > 1 else None
        return assess_agreement(drawn[-1], recent=recent, settings=SETTINGS, with_history=False)


@dataclass(frozen=True)
class Standings:
    """How people stand in the last of so many sessions, told with those before it.

    What nobody asks here (fits, intervals, sentences) is not reckoned; every hundredth draw is
    judged as a panel lead gets it as well, and must come to the same.
    """

    flight: Flight
    visits: int = 1
    before: Flight | None = None
    """Sessions of other casks go before, one each of so many visits but the last."""
    alone: bool = True
    """Only the first assessor."""

    def __call__(self, seed: int) -> list[Standing]:
        """Draw and judge."""
        sessions = self._sessions(seed)
        names = sessions[0][0].assessors
        repeats = [Repeats.of(notes) for notes in sessions]
        told = {
            name: [
                [self._told(notes[d], row) for notes in sessions] for d in range(len(sessions[0]))
            ]
            for row, name in enumerate(names)
        }
        without = astray(told, SETTINGS)
        found = [
            standing_of(name, told[name], repeats, SETTINGS, without)
            for name in names[: 1 if self.alone else None]
        ]
        if seed % 100 == 0:
            self._check(seed, found)
        return found

    def _sessions(self, seed: int) -> list[list[ScoreLayout]]:
        """This session first, then those before it in time's order."""
        if self.before is None:
            *earlier, tonight = self.flight.layouts(seed, self.visits)
        else:
            earlier = [
                [replace(note, samples=tuple(f"R{at}{name}" for name in note.samples))
                 for note in notes]
                for at, notes in enumerate(self.before.layouts(seed, self.visits - 1))
            ]  # fmt: skip
            (tonight,) = self.flight.layouts(seed)
        return [tonight, *reversed(earlier)]

    def _told(self, layout: ScoreLayout, row: int) -> Told | None:
        found = told_beside(layout, row, SETTINGS.tolerance, SETTINGS)
        return found if isinstance(found, Told) else None

    def _check(self, seed: int, found: Sequence[Standing]) -> None:
        """Judge the same draw as a panel lead gets it."""
        if self.before is None:
            *earlier, tonight = self.flight.sessions(seed, self.visits)
        else:
            (tonight,) = self.flight.sessions(seed)
            earlier = [
                part.assign(session=f"R{at}", sample=f"R{at}" + part["sample"])
                for at, part in enumerate(self.before.sessions(seed, self.visits - 1))
            ]
        recent = pd.concat(earlier) if earlier else None
        full = assess_agreement(tonight, recent=recent, settings=SETTINGS, with_history=False)
        for person, stood in zip(full.assessors, found, strict=False):
            if (person.reading.passed, person.habits.word) != (
                stood.reading.passed,
                stood.habits.word,
            ):
                raise RuntimeError(f"{self} comes to something else than the whole, draw {seed}")


def reads(found: Sequence[Standing]) -> Iterator[bool]:
    """Whether each reads with the panel."""
    for person in found:
        yield person.reading.passed


def habit(words: tuple[AssessorWord, ...], found: Sequence[Standing]) -> Iterator[bool]:
    """Whether a way with the line or with repeats is spoken of."""
    for person in found:
        said = person.reading.passed or person.habits.less_steady
        yield said and person.habits.word in words


def rows() -> Iterator[Row]:
    """All rows on people."""
    yield from _reading_rows()
    yield from _habit_rows()


def _reading_rows() -> Iterator[Row]:
    word = "reads with the panel"
    for i, j in SIZES:
        base = Flight(i, j, REAL * 3)
        for guess in (Guess.UNIFORM, Guess.REPEATS, Guess.TOGETHER):
            name = f"with-{guess.name.lower()}-{i}x{j}"
            draw = Standings(replace(base, guess=guess))
            yield Row(name, word, f"{guess}, {i} x {j}", 0.05, True, draw, reads)
        found = {6: 0.85, 8: 0.95, 12: 0.98}[i]
        name = f"with-good-{i}x{j}"
        yield Row(
            name, word, f"good panel, {i} x {j}", found, False, Standings(base, alone=False), reads
        )
    guesser = Flight(8, 8, REAL * 3, guess=Guess.UNIFORM)
    others = {
        "4-glasses": ("4 glasses", replace(guesser, n_samples=4)),
        "16-glasses": ("16 glasses", replace(guesser, n_samples=16)),
        "1-note": ("1 note", replace(guesser, casks=REAL[:1])),
        "20-notes": ("20 notes", replace(guesser, casks=REAL * 10)),
        "moving": ("10 notes that move together", replace(guesser, casks=(Casks.MOVING,) * 10)),
        "heavy": ("heavy tails", replace(guesser, tails=Tails.HEAVY)),
    }
    for name, (where, flight) in others.items():
        said = f"uniform scores, 8 assessors, {where}"
        yield Row(f"with-{name}", word, said, 0.05, True, Standings(flight), reads)
    two = Standings(Flight(6, 6, REAL * 3), 2, alone=False)
    yield Row("with-good-twice", word, "good panel, 6 x 6, two sessions", 0.99, False, two, reads)
    for i, j in SIZES:
        fair = Standings(Flight(i, j, REAL * 3, cell_sd=16.0), alone=False)
        where = f"fair panel, {i} x {j}"
        yield Row(f"with-fair-{i}x{j}", word, where, None, False, fair, reads)
    for n, kinds in ((1, REAL[:1]), (2, REAL)):
        flight = Flight(8, 8, kinds, guess=Guess.LASTING)
        where = f"{Guess.LASTING}, the same casks in five sessions, notes: {n}, 8 x 8"
        draw = Standings(flight, 5)
        yield Row(f"with-lasting-{n}", word, where, 0.05, True, draw, reads)
    yield from _rival_rows(word)


def _rival_rows(word: str) -> Iterator[Row]:
    """A panel that noses close rivals tonight is the panel it was."""
    house, rivals = Flight(8, 8, REAL * 3), Flight(8, 8, (Casks.RIVALS,) * 6)
    where = "rival casks (sd 3) after two sessions of the house's (sd 8), 8 x 8"
    draw = Standings(rivals, 3, house, alone=False)
    yield Row("with-rivals", word, where, 0.95, False, draw, reads)
    guessed = replace(house, guess=Guess.UNIFORM)
    guesses = Standings(replace(rivals, guess=Guess.UNIFORM), 3, guessed)
    yield Row("with-rivals-uniform", word, f"uniform scores, {where}", 0.05, True, guesses, reads)


HABITS = (
    ("line", "uses a wider or narrower line", WIDTHS),
    ("steady", "less steady than the others", UNSTEADY),
)


def _habit_rows() -> Iterator[Row]:
    base = Flight(12, 12, REAL * 3)
    flights = {f"{tails.name.lower()}-12x12": replace(base, tails=tails) for tails in Tails}
    flights |= {f"{i}x{j}": Flight(i, j, REAL * 3) for i, j in SIZES[:2]}
    for short, flight in flights.items():
        draw = Standings(flight, alone=False)
        where = f"nobody does, {flight.tails}, {flight.n_assessors} x {flight.n_samples}"
        for head, word, words in HABITS:
            yield Row(f"{head}-{short}", word, where, 0.05, True, draw, partial(habit, words))
    narrow = Standings(replace(base, scale=0.6))
    read = partial(habit, (AssessorWord.NARROWER,))
    yield Row("narrower", "uses a narrower line", "scale x .6, 12 x 12", 0.65, False, narrow, read)
    wild = Standings(replace(base, noise=2.0))
    read = partial(habit, UNSTEADY)
    where = "noise x 2, 12 x 12"
    yield Row("unsteady", "less steady than the others", where, 0.7, False, wild, read)
