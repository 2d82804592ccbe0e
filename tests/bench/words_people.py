"""Rows: words on people."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

import pandas as pd

from analysis.agreement import Agreement, AgreementSettings, AssessorWord, assess_agreement
from tests.bench.word_rates import Row
from tests.bench.word_worlds import FIRST, REAL, SIZES, Casks, Flight, Guess, Tails

SETTINGS = AgreementSettings(permutations=499, bootstraps=99)
WIDTHS = (AssessorWord.WIDER, AssessorWord.NARROWER)
UNSTEADY = (AssessorWord.UNSTEADY,)
RULES = {
    "reads with the panel": "over the notes that the others alone told apart: mean correlation "
    "with the others' means at least .35, and p at most .05 with the person's whole glasses "
    "changed about, all notes together; a note's word only of one who passed",
    "uses a wider or narrower line": "scale pooled over notes beyond 1.25 or below 1/1.25, "
    "without the note furthest off too, p at most .03",
    "less steady than the others": "distance between two nosings pooled over notes 1.5 times "
    "that of the others, p at most .03 with anybody's in each glass",
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
class AfterOthers:
    """A session, judged with sessions of other casks before it."""

    flight: Flight
    before: Flight
    visits: int

    def __call__(self, seed: int) -> Agreement:
        """Draw and judge."""
        drawn = self.before.sessions(seed, self.visits)
        recent = pd.concat(
            [part.assign(session=f"R{at}", sample=f"R{at}" + part["sample"])
             for at, part in enumerate(drawn)]
        )  # fmt: skip
        (tonight,) = self.flight.sessions(seed)
        return assess_agreement(tonight, recent=recent, settings=SETTINGS, with_history=False)


def first_reads(found: Agreement) -> Iterator[bool]:
    """Of the one who guesses."""
    yield found.assessor(FIRST).reading.passed


def all_read(found: Agreement) -> Iterator[bool]:
    """Of each of a panel in which nobody guesses."""
    for person in found.assessors:
        yield person.reading.passed


def habit(words: tuple[AssessorWord, ...], who: slice, found: Agreement) -> Iterator[bool]:
    """Whether a way with the line or with repeats is spoken of."""
    for person in found.assessors[who]:
        yield person.verdict.word in words


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
            draw = Session(replace(base, guess=guess))
            yield Row(name, word, f"{guess}, {i} x {j}", 0.05, True, draw, first_reads)
        found = {6: 0.85, 8: 0.95, 12: 0.98}[i]
        name = f"with-good-{i}x{j}"
        yield Row(name, word, f"good panel, {i} x {j}", found, False, Session(base), all_read)
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
        yield Row(f"with-{name}", word, said, 0.05, True, Session(flight), first_reads)
    two = Session(Flight(6, 6, REAL * 3), 2)
    yield Row(
        "with-good-twice", word, "good panel, 6 x 6, two sessions", 0.99, False, two, all_read
    )
    yield from _rival_rows(word)


def _rival_rows(word: str) -> Iterator[Row]:
    """A panel that noses close rivals tonight is the panel it was."""
    house, rivals = Flight(8, 8, REAL * 3), Flight(8, 8, (Casks.RIVALS,) * 6)
    where = "rival casks (sd 3) after two sessions of the house's (sd 8), 8 x 8"
    draw = AfterOthers(rivals, house, 2)
    yield Row("with-rivals", word, where, 0.95, False, draw, all_read)
    guesses = AfterOthers(
        replace(rivals, guess=Guess.UNIFORM), replace(house, guess=Guess.UNIFORM), 2
    )
    yield Row(
        "with-rivals-uniform", word, f"uniform scores, {where}", 0.05, True, guesses, first_reads
    )


def _habit_rows() -> Iterator[Row]:
    everybody = slice(None)
    for tails in Tails:
        draw = Session(Flight(12, 12, REAL * 3, tails=tails))
        for short, word, words in (
            ("line", "uses a wider or narrower line", WIDTHS),
            ("steady", "less steady than the others", UNSTEADY),
        ):
            where = f"nobody does, {tails}, 12 x 12"
            name = f"{short}-{tails.name.lower()}-12x12"
            yield Row(name, word, where, 0.05, True, draw, partial(habit, words, everybody))
    for i, j in SIZES[:2]:
        draw = Session(Flight(i, j, REAL * 3))
        for short, word, words in (
            ("line", "uses a wider or narrower line", WIDTHS),
            ("steady", "less steady than the others", UNSTEADY),
        ):
            read = partial(habit, words, everybody)
            yield Row(f"{short}-{i}x{j}", word, f"nobody does, {i} x {j}", 0.05, True, draw, read)
    base = Flight(12, 12, REAL * 3)
    narrow = Session(replace(base, scale=0.6))
    read = partial(habit, (AssessorWord.NARROWER,), slice(1))
    yield Row("narrower", "uses a narrower line", "scale x .6, 12 x 12", 0.65, False, narrow, read)
    wild = Session(replace(base, noise=2.0))
    read = partial(habit, UNSTEADY, slice(1))
    yield Row(
        "unsteady", "less steady than the others", "noise x 2, 12 x 12", 0.7, False, wild, read
    )
