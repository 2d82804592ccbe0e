"""How often a word is said where it is false, and where it is true.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_words [SESSIONS] [HOUSES]

Every row is measured over so many made-up sessions (tests/bench/word_worlds.py) through
`assess_agreement`, as a panel lead gets it; influences over so many houses. False rates come with
their upper 95 % bound (Clopper & Pearson 1934). The table is printed and written to
demo_panel/HOW_WE_KNOW.md. Rows that miss what is asked of them say so.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import pandas as pd
from scipy.stats import beta

from analysis.agreement import (
    Agreement,
    AgreementSettings,
    AssessorWord,
    PanelWord,
    assess_agreement,
)
from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.flight import pair_span
from analysis.agreement.indices.layout import ScoreLayout
from tests.bench import bench_words_influences as influences
from tests.bench.word_worlds import FIRST, Casks, Flight, Guess, Tails

SETTINGS = AgreementSettings(permutations=499, bootstraps=99)
PAGE = Path(__file__).parents[2] / "demo_panel" / "HOW_WE_KNOW.md"
APART = (PanelWord.SAFE, PanelWord.SECOND_LOOK)
WIDTHS = (AssessorWord.WIDER, AssessorWord.NARROWER)
REAL = (Casks.SKEWED, Casks.UNIFORM)
SIZES = ((6, 6), (8, 8), (12, 12))
Hits = Iterator[bool]
Judge = Callable[[int], Hits]


@dataclass(frozen=True)
class Row:
    """One row of the table.

    Attributes
    ----------
    asked
        The rate that is asked for.
    false
        Whether the word is false there, so that the rate is to be at most `asked`.
    judge
        From a seed to whether the word was said, once for each chance to say it.
    """

    sentence: str
    where: str
    asked: float
    false: bool
    judge: Judge


@dataclass(frozen=True)
class Measured:
    """A row and how often it was said."""

    row: Row
    said: int
    chances: int
    sessions: int

    @property
    def rate(self) -> float:
        """How often of all chances."""
        return self.said / self.chances if self.chances else float("nan")

    @property
    def bound(self) -> float:
        """Upper 95 % bound of the rate."""
        if self.said >= self.chances:
            return 1.0
        return float(beta.ppf(0.95, self.said + 1, self.chances - self.said))

    @property
    def outcome(self) -> str:
        """Whether the rate asked for is met."""
        if not self.row.false:
            return "met" if self.rate >= self.row.asked else "MISSED"
        if self.bound <= self.row.asked:
            return "met"
        return "met, bound not yet" if self.rate <= self.row.asked else "MISSED"

    def line(self) -> str:
        """The row as a line of a Markdown table."""
        asked = f"at {'most' if self.row.false else 'least'} {self.row.asked:g}"
        bound = f"{self.bound:.3f}" if self.row.false else "-"
        cells = (self.row.sentence, self.row.where, asked, f"{self.rate:.3f}", bound)
        counts = (f"{self.said} of {self.chances}", str(self.sessions), self.outcome)
        return f"| {' | '.join((*cells, *counts))} |"


def judged(flight: Flight, seed: int, visits: int = 1) -> Agreement:
    """The last of so many sessions, the others before it."""
    drawn = flight.sessions(seed, visits)
    recent = pd.concat(drawn[:-1]) if visits > 1 else None
    return assess_agreement(drawn[-1], recent=recent, settings=SETTINGS, with_history=False)


def first_reads(flight: Flight, seed: int) -> Hits:
    """Of the one who guesses."""
    yield judged(flight, seed).assessor(FIRST).reading.passed


def all_read(flight: Flight, visits: int, seed: int) -> Hits:
    """Of each of a panel in which nobody guesses."""
    for person in judged(flight, seed, visits).assessors:
        yield person.reading.passed


def habit(flight: Flight, words: tuple[AssessorWord, ...], who: slice, seed: int) -> Hits:
    """Whether a way with the line or with repeats is spoken of."""
    for person in judged(flight, seed).assessors[who]:
        yield person.verdict.word in words


def notes_said(
    flight: Flight, kinds: tuple[Casks, ...], words: tuple[PanelWord, ...], visits: int, seed: int
) -> Hits:
    """Whether a word is said of each note of these kinds."""
    for note, kind in zip(judged(flight, seed, visits).descriptors, flight.casks, strict=True):
        if kind in kinds:
            yield note.verdict.word in words


def bound_fails(flight: Flight, seed: int) -> Hits:
    """Whether "no two differ by more than" is below what they differ by."""
    for note, kind in zip(judged(flight, seed).descriptors, flight.casks, strict=True):
        if kind is Casks.ONE_OFF:
            yield (note.at_most_apart or 0.0) < 12.0


def any_note(flight: Flight, words: tuple[PanelWord, ...], seed: int) -> Hits:
    """Whether a word is said of any note of a session."""
    yield any(note.verdict.word in words for note in judged(flight, seed).descriptors)


def headline(flight: Flight, seed: int) -> Hits:
    """Whether the session as a whole is one to look at twice, or safe."""
    yield judged(flight, seed).verdict.word in APART


def pair_alike(flight: Flight, apart: bool, seed: int) -> Hits:
    """Whether the cask that is 12 off, or a like one, is called like another, named before."""
    (scores,) = flight.sessions(seed)
    for _, rows in scores.groupby("descriptor"):
        layout = ScoreLayout.of(rows)
        means = layout.means.copy()
        means[:, 0] += 12.0 if apart else 0.0
        found = pair_span(additive(means), layout.samples, "x00", "x02", 10.0)
        yield found is not None and found.alike


def person_rows() -> Iterator[Row]:
    """Words on people."""
    sentence = "reads with the panel"
    for i, j in SIZES:
        base = Flight(i, j, REAL * 3)
        for guess in (Guess.UNIFORM, Guess.REPEATS, Guess.TOGETHER):
            flight = replace(base, guess=guess)
            yield Row(sentence, f"{guess}, {i} x {j}", 0.05, True, partial(first_reads, flight))
        kept = {6: 0.85, 8: 0.95, 12: 0.98}[i]
        yield Row(sentence, f"good panel, {i} x {j}", kept, False, partial(all_read, base, 1))
    guesser = Flight(8, 8, REAL, guess=Guess.UNIFORM)
    others = {
        "4 glasses": replace(guesser, n_samples=4, casks=REAL * 3),
        "16 glasses": replace(guesser, n_samples=16, casks=REAL * 3),
        "1 note": replace(guesser, casks=REAL[:1]),
        "20 notes": replace(guesser, casks=REAL * 10),
        "10 notes that move together": replace(guesser, casks=(Casks.MOVING,) * 10),
        "heavy tails": replace(guesser, casks=REAL * 3, tails=Tails.HEAVY),
    }
    for where, flight in others.items():
        yield Row(sentence, f"uniform scores, {where}", 0.05, True, partial(first_reads, flight))
    two = Flight(6, 6, REAL * 3)
    yield Row(sentence, "good panel, 6 x 6, two sessions", 0.99, False, partial(all_read, two, 2))


def habit_rows() -> Iterator[Row]:
    """Words on the line and on steadiness."""
    for tails in Tails:
        flight = Flight(12, 12, REAL * 3, tails=tails)
        everybody = slice(None)
        for sentence, words in (
            ("uses a wider or narrower line", WIDTHS),
            ("less steady than the others", (AssessorWord.UNSTEADY,)),
        ):
            judge = partial(habit, flight, words, everybody)
            yield Row(sentence, f"nobody does, {tails}, 12 x 12", 0.05, True, judge)
    for i, j in SIZES[:2]:
        either = (*WIDTHS, AssessorWord.UNSTEADY)
        judge = partial(habit, Flight(i, j, REAL * 3), either, slice(None))
        yield Row("any of the two", f"nobody does, {i} x {j}", 0.10, True, judge)
    base = Flight(12, 12, REAL * 3)
    narrow = partial(habit, replace(base, scale=0.6), (AssessorWord.NARROWER,), slice(1))
    yield Row("uses a narrower line", "scale x .6, 12 x 12", 0.65, False, narrow)
    wild = partial(habit, replace(base, noise=2.0), (AssessorWord.UNSTEADY,), slice(1))
    yield Row("less steady than the others", "noise x 2, 12 x 12", 0.70, False, wild)


def alike_rows() -> Iterator[Row]:
    """Casks alike."""
    sentence, said = "casks alike on this note", (PanelWord.ALIKE,)
    both = (Casks.EQUAL, Casks.ONE_OFF) * 4
    for (i, j), cell, tails in (
        *((size, 8.0, Tails.NORMAL) for size in (*SIZES, (12, 16))),
        ((12, 12), 8.0, Tails.HEAVY),
        ((12, 12), 16.0, Tails.NORMAL),
    ):
        flight = Flight(i, j, both, cell_sd=cell, tails=tails)
        kind = "good" if cell < 10.0 else "fair"
        where = f"one cask 12 off, {kind} panel, {tails}, {i} x {j}"
        yield Row(
            sentence, where, 0.02, True, partial(notes_said, flight, (Casks.ONE_OFF,), said, 1)
        )
    for visits, found in ((1, 0.35), (2, 0.60), (4, 0.75)):
        flight = Flight(12, 12, (Casks.EQUAL,) * 6)
        judge = partial(notes_said, flight, (Casks.EQUAL,), said, visits)
        yield Row(sentence, f"equal casks, 12 x 12, sessions: {visits}", found, False, judge)
    flight = Flight(8, 8, (Casks.ONE_OFF,) * 6)
    yield Row(
        "no two differ by more than U", "one cask 12 off, 8 x 8", 0.05, True,
        partial(bound_fails, flight),
    )  # fmt: skip
    for i, found in ((12, 0.85), (8, 0.60), (6, 0.35)):
        flight = Flight(i, 8, (Casks.EQUAL,) * 6)
        judge = partial(pair_alike, flight, False)
        yield Row("alike (two named casks)", f"equal, {i} assessors", found, False, judge)
        judge = partial(pair_alike, flight, True)
        yield Row("alike (two named casks)", f"12 apart, {i} assessors", 0.025, True, judge)


def look_rows() -> Iterator[Row]:
    """Act with a second look."""
    for tails in (Tails.NORMAL, Tails.HEAVY, Tails.TOGETHER):
        flight = Flight(8, 6, (Casks.EQUAL,) * 20, tails=tails)
        judge = partial(headline, flight)
        where = f"20 notes of equal casks, {tails}, 8 x 6"
        yield Row("act with a second look (the session)", where, 0.08, True, judge)
    flight = Flight(6, 6, (*REAL * 3, Casks.EQUAL, Casks.EQUAL))
    judge = partial(notes_said, flight, REAL, APART, 1)
    yield Row("act with a second look, or safe", "sd 8 between casks, 6 x 6", 0.80, False, judge)


def measured(row: Row, sessions: int) -> Measured:
    """Say how often the word was said over so many sessions."""
    said = chances = 0
    for seed in range(sessions):
        hits = list(row.judge(seed))
        said, chances = said + sum(hits), chances + len(hits)
    return Measured(row, said, chances, sessions)


RULES = (
    ("reads with the panel", "over the notes that the others alone told apart: mean correlation "
     "with the others' means at least .35, and p at most .05 with the person's whole glasses "
     "changed about, all notes together; a note's word only of one who passed"),
    ("uses a wider or narrower line", "scale pooled over notes beyond 1.25 or below 1/1.25, "
     "without the note furthest off too, p at most .03"),
    ("less steady than the others", "distance between two nosings pooled over notes 1.5 times "
     "that of the others, p at most .03 with anybody's in each glass"),
    ("casks alike on this note", "span of the means below the .04 quantile of the spans of "
     "flights with two casks 10 apart and the rest in the middle; at most 10"),
    ("no two differ by more than U", "the least distance of two casks for which so small a span "
     "is rarer than .04"),
    ("alike (two named casks)", "distance plus t(.95) standard errors at most 10"),
    ("act with a second look", "reliability at least .6, and a difference that stands among all "
     "notes (Benjamini & Hochberg 1995, .05)"),
    ("moves with", "one F a factor and note, denominator by the level a factor lives at; "
     "Benjamini & Hochberg .05 over notes and factors"),
)  # fmt: skip
HEAD = (
    "| sentence | where | asked | said | upper bound | chances | sessions | outcome |",
    "| --- | --- | --- | --- | --- | --- | --- | --- |",
)


def influence_lines(houses: int) -> Iterator[str]:
    """The rows of influences, from their own bench."""
    yield "| house | houses | any false claim | upper bound | share of claims false | found |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for house in influences.HOUSES:
        tally = influences.Tally(house)
        for seed in range(houses):
            tally.take(influences.judged(house, seed))
        yield tally.markdown()


def page(rows: list[Measured], houses: list[str], command: str) -> str:
    """The page of the demo."""
    rules = [f"- *{sentence}*: {rule}." for sentence, rule in RULES]
    return "\n".join(
        [
            "# How we know",
            "",
            "A word on a panel or a person is a claim. Each was said, or not, of made-up sessions "
            'in which the truth is known; "upper bound" is the 95 % bound of a rate where the '
            "word is false. Sizes are assessors x samples. Sessions that share casks or people "
            "give several chances, so that the bounds are a little too narrow there.",
            "",
            *rules,
            "",
            f"Repeat it with `{command}`.",
            "",
            *HEAD,
            *(row.line() for row in rows),
            "",
            "## What moves with what",
            "",
            "Over made-up houses (tests/bench/bench_words_influences.py).",
            "",
            *houses,
            "",
        ]
    )


def main(sessions: int, houses: int) -> None:
    """Measure everything, print it and write the page."""
    started = time.process_time()
    rows = []
    for row in (*person_rows(), *habit_rows(), *alike_rows(), *look_rows()):
        rows.append(measured(row, sessions))
        print(f"{rows[-1].line()}  {time.process_time() - started:.0f} s", flush=True)
    lines = []
    for line in influence_lines(houses):
        lines.append(line)
        print(line, flush=True)
    command = f"OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_words {sessions} {houses}"
    PAGE.write_text(page(rows, lines, command), encoding="utf-8")
    print(f"{time.process_time() - started:.0f} s of processor; written to {PAGE.name}")


if __name__ == "__main__":
    numbers = [int(part) for part in sys.argv[1:3]]
    main(*[*numbers, *(400, 200)[len(numbers) :]])
