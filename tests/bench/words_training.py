"""Rows: how far somebody in training is, asked again after every exercise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.one_session.with_panel import Told, reads_with, told_beside
from analysis.score_statuses import IN_TRAINING, USED
from analysis.training import TrainingSettings, TrainingWord, assess_training, word_of
from analysis.training.verdict import TrainingFacts
from tests.bench.word_rates import Row
from tests.bench.word_worlds import FIRST, REAL, Flight, Guess, Tails
from tests.bench.words_people import SETTINGS

READY, NOT_YET = "ready (a person in training)", "not yet (a person in training)"
RULES = {
    READY: "reads with the panel, by its own rule, over all exercises together: four at least, of "
    "twenty-four different samples; asked after every exercise, counted if it is said after any",
    NOT_YET: "as many exercises, in which the person does not read with the panel and as many more "
    "like them would not change it, or in which they read surely the other way round",
}
BY_HOUSE = TrainingSettings()


@dataclass(frozen=True)
class Exercises:
    """So many exercises of the first assessor beside the panel; the word after each of them.

    Samples come again after so many exercises (`round_of`; 1: the same in each).
    """

    flight: Flight
    n: int = 8
    round_of: int = 8

    def __call__(self, seed: int) -> list[TrainingWord]:
        """Draw and judge."""
        told = [self._told(notes) for notes in self._exercises(seed)]
        words = [self._word(told[:n]) for n in range(1, self.n + 1)]
        if seed % 100 == 0 and self.round_of >= self.n:
            self._check(seed, words[-1])
        return words

    def _check(self, seed: int, word: TrainingWord) -> None:
        """Judge the same draw as a panel lead gets it; with other samples in each exercise."""
        parts = []
        for at in range(self.n):
            (drawn,) = self.flight.sessions(seed * self.round_of + at)
            status = np.where(drawn["assessor"] == FIRST, IN_TRAINING, USED[0])
            day = pd.Timestamp(2026, 1, 1) + pd.Timedelta(days=at)
            named = drawn.assign(session=f"E{at}", sample=f"{at}" + drawn["sample"], held_on=day)
            parts.append(named.assign(status=status))
        found = assess_training(pd.concat(parts, ignore_index=True), FIRST, settings=SETTINGS)
        if found.verdict.word is not word:
            raise RuntimeError(f"{self} comes to something else than the whole, draw {seed}")

    def _exercises(self, seed: int) -> list[list[ScoreLayout]]:
        visits = -(-self.n // self.round_of)
        sets = [
            [
                [
                    replace(note, samples=tuple(f"{at}{name}" for name in note.samples))
                    for note in notes
                ]
                for notes in self.flight.layouts(seed * self.round_of + at, visits)
            ]
            for at in range(self.round_of)
        ]
        return [sets[at % self.round_of][at // self.round_of] for at in range(self.n)]

    def _told(self, notes: list[ScoreLayout]) -> list[Told]:
        found = [told_beside(note, 0, SETTINGS.tolerance, SETTINGS) for note in notes]
        return [part for part in found if isinstance(part, Told)]

    def _word(self, told: list[list[Told]]) -> TrainingWord:
        samples = {name for notes in told for note in notes for name in note.scored}
        n_told = sum(bool(notes) for notes in told)
        reading = reads_with(told, SETTINGS)
        return word_of(TrainingFacts(reading, len(told), n_told, len(samples), BY_HOUSE))


def ever_ready(words: list[TrainingWord]) -> Iterator[bool]:
    """Whether *ready* was said after any exercise."""
    yield TrainingWord.READY in words


def ready_at_last(words: list[TrainingWord]) -> Iterator[bool]:
    """Whether it is said after the last one."""
    yield words[-1] is TrainingWord.READY


def ever_not_yet(words: list[TrainingWord]) -> Iterator[bool]:
    """Whether *not yet* was said after any exercise."""
    yield TrainingWord.NOT_YET in words


def not_yet_at_last(words: list[TrainingWord]) -> Iterator[bool]:
    """Whether it is said after the last one."""
    yield words[-1] is TrainingWord.NOT_YET


TRUE = (400, 4000, "trainings")
MANY = (400, 2000, "trainings")
BASE = Flight(8, 6, REAL * 3)


def rows() -> Iterator[Row]:
    """All rows on people in training."""
    yield from _ready_rows()
    yield from _not_yet_rows()


def _ready_rows() -> Iterator[Row]:
    two = replace(BASE, casks=REAL)
    for guess in (Guess.UNIFORM, Guess.TOGETHER, Guess.LASTING):
        for notes, flight in ((2, two), (6, BASE)):
            for round_of, again in ((8, "other samples each"), (4, "four sets in turn")):
                draw = Exercises(replace(flight, guess=guess), round_of=round_of)
                where = f"{guess}, eight exercises of six samples, {again}, {notes} notes"
                name = f"ready-{guess.name.lower()}-{notes}-{round_of}"
                yield Row(name, READY, where, 0.05, True, draw, ever_ready, *MANY)
    for n, flight, name, enough in (
        (4, BASE, "good", 0.95),
        (4, two, "good-two", 0.9),
        (6, replace(BASE, tails=Tails.HEAVY), "heavy", 0.95),
        (8, replace(BASE, cell_sd=16.0), "fair", None),
    ):
        where = f"reads as the others do, {_panel(flight)}, after {n} exercises"
        draw = Exercises(flight, n)
        yield Row(f"ready-true-{name}", READY, where, enough, False, draw, ready_at_last, *TRUE)


def _not_yet_rows() -> Iterator[Row]:
    for flight, name, asked in (
        (BASE, "good", 0.05),
        (replace(BASE, tails=Tails.TOGETHER), "together", 0.05),
        (replace(BASE, cell_sd=16.0), "fair", None),
    ):
        where = f"reads as the others do, {_panel(flight)}, after any of eight exercises"
        draw = Exercises(flight)
        yield Row(f"not-yet-{name}", NOT_YET, where, asked, True, draw, ever_not_yet, *MANY)
    for guess, n, enough in ((Guess.UNIFORM, 4, 0.9), (Guess.TOGETHER, 8, 0.9)):
        where = f"{guess}, after {n} exercises"
        draw = Exercises(replace(BASE, guess=guess), n)
        name = f"not-yet-true-{guess.name.lower()}"
        yield Row(name, NOT_YET, where, enough, False, draw, not_yet_at_last, *TRUE)


def _panel(flight: Flight) -> str:
    panel = "good" if flight.cell_sd < 16.0 else "fair"
    return f"{panel} panel, {flight.tails}, {len(flight.casks)} notes"
