"""Made-up sessions in which it is known what may be said, for the bench of words.

Not the worlds the thresholds were set on: casks are drawn skewed, uniform or with heavy tails,
noise has heavy tails or grows with the note, and what goes astray in a glass goes astray on all
notes of it. A good panel has a cell sd of 8 points (disagreement and noise together), a fair one
twice that.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import pandas as pd

from analysis.agreement.indices.layout import ScoreLayout

COLUMNS = ["session", "assessor", "sample", "replicate", "descriptor", "score"]
FIRST = "P00"
"""Whoever is made unlike the others."""


class Tails(StrEnum):
    """How noise is distributed."""

    NORMAL = "normal noise"
    HEAVY = "heavy tails (Student, 3 degrees of freedom)"
    GROWING = "noise that grows with the note"
    TOGETHER = "notes that go astray together"


class Guess(StrEnum):
    """How the first assessor scores who does not smell at all."""

    NO = "nobody"
    UNIFORM = "uniform scores"
    REPEATS = "uniform scores, repeated"
    TOGETHER = "one liking over all notes"
    LASTING = "an opinion of each cask that is his own, and stays"


class Casks(StrEnum):
    """How casks differ on a note."""

    EQUAL = "equal casks"
    ONE_OFF = "one cask 12 off"
    SKEWED = "skewed, sd 8"
    UNIFORM = "uniform, sd 8"
    MOVING = "notes move together, sd 8"
    RIVALS = "close rivals, sd 3"
    TEN = "the first cask 10 above"
    TWELVE = "the first cask 12 above"
    TWENTY_FIVE = "the first cask 25 above"


REAL = (Casks.SKEWED, Casks.UNIFORM)
ABOVE = {Casks.TEN: 10.0, Casks.TWELVE: 12.0, Casks.TWENTY_FIVE: 25.0}
SIZES = ((6, 6), (8, 8), (12, 12))


@dataclass(frozen=True)
class Flight:
    """One kind of session.

    Attributes
    ----------
    casks
        A kind a note.
    cell_sd
        Of one assessor's mean of a glass about the panel's: a quarter of its variance is lasting
        disagreement.
    scale, noise
        Of the first assessor's line and noise, for one of the others.
    """

    n_assessors: int
    n_samples: int
    casks: tuple[Casks, ...]
    cell_sd: float = 8.0
    tails: Tails = Tails.NORMAL
    guess: Guess = Guess.NO
    scale: float = 1.0
    noise: float = 1.0

    def sessions(self, seed: int, n: int = 1) -> list[pd.DataFrame]:
        """Draw `n` sessions with the same casks, two of them poured twice in each."""
        drawn = enumerate(self.scored(seed, n))
        return [self._frame(f"S{visit}", y, self.poured) for visit, y in drawn]

    def layouts(self, seed: int, n: int = 1) -> list[list[ScoreLayout]]:
        """The same sessions, each note laid out as its frame would be."""
        order = np.argsort(self.poured, kind="stable")
        people = tuple(f"P{i:02d}" for i in range(self.n_assessors))
        samples = tuple(f"x{j:02d}" for j in range(self.n_samples))
        who, glass = (part.ravel() for part in np.indices((self.n_assessors, len(order))))
        return [
            [
                ScoreLayout(people, samples, who, self.poured[order][glass], y[:, order, d].ravel())
                for d in range(len(self.casks))
            ]
            for y in self.scored(seed, n)
        ]

    @property
    def poured(self) -> np.ndarray:
        """Which sample is in each glass of a tray."""
        return np.concatenate([np.arange(self.n_samples), [0, 1]])

    def scored(self, seed: int, n: int) -> list[np.ndarray]:
        """Draw the scores, shape (assessors, glasses, notes), session by session."""
        rng = np.random.default_rng([seed, self.n_assessors, self.n_samples, len(self.casks)])
        truth, lasting = self._truth(rng), self._noise(rng, (self.n_assessors, self.n_samples))
        level = rng.normal(0.0, 6.0, (self.n_assessors, 1, len(self.casks)))
        at, found = self.poured, []
        own = np.random.default_rng([seed, 5])
        opinion = own.uniform(10.0, 90.0, (self.n_samples, len(self.casks)))
        for _ in range(n):
            fresh = self._noise(rng, (self.n_assessors, len(at)))
            apart = 0.5 * lasting[:, at] + np.sqrt(0.75) * fresh
            if self.tails is Tails.GROWING:
                apart = apart * (0.7 + 0.02 * np.abs(truth[at]))
            heard = np.ones((self.n_assessors, 1, 1))
            heard[0], apart[0] = self.scale, apart[0] * self.noise
            y = 45.0 + level + heard * truth[at] + self.cell_sd * apart
            self._guessed(y, at, rng, opinion)
            found.append(np.clip(y, 0.0, 100.0).round())
        return found

    def _truth(self, rng: np.random.Generator) -> np.ndarray:
        shape = (self.n_samples, len(self.casks))
        skewed = 8.0 * (rng.chisquare(3, shape) - 3.0) / np.sqrt(6.0)
        flat = 8.0 * np.sqrt(3.0) * rng.uniform(-1.0, 1.0, shape)
        common = 8.0 * (0.9 * rng.normal(size=(self.n_samples, 1)) + 0.44 * rng.normal(size=shape))
        one = np.zeros(shape)
        one[rng.integers(self.n_samples, size=shape[1]), np.arange(shape[1])] = 12.0
        kinds = {
            Casks.EQUAL: np.zeros(shape),
            Casks.ONE_OFF: one,
            Casks.SKEWED: skewed,
            Casks.UNIFORM: flat,
            Casks.MOVING: common,
            Casks.RIVALS: 3.0 / 8.0 * flat,
            **{kind: np.zeros(shape) for kind in ABOVE},
        }
        for kind, above in ABOVE.items():
            kinds[kind][0] = above
        columns = [kinds[kind][:, at] for at, kind in enumerate(self.casks)]
        return np.stack(columns, axis=1)

    def _noise(self, rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
        """Of variance one, shape (assessors, glasses, notes)."""
        full = (*shape, len(self.casks))
        if self.tails is Tails.HEAVY:
            heavy: np.ndarray = rng.standard_t(3, full) / np.sqrt(3.0)
            return heavy
        own = rng.normal(size=full)
        if self.tails is Tails.TOGETHER:
            own = np.sqrt(0.5) * own + np.sqrt(0.5) * rng.normal(size=(*shape, 1))
        return own

    def _guessed(
        self, y: np.ndarray, at: np.ndarray, rng: np.random.Generator, opinion: np.ndarray
    ) -> None:
        """Put what the first assessor guesses in the place of what he would have read."""
        if self.guess is Guess.NO:
            return
        own = rng.uniform(0.0, 100.0, y.shape[1:])
        if self.guess is Guess.REPEATS:
            own = rng.uniform(0.0, 100.0, (self.n_samples, y.shape[2]))[at]
        if self.guess is Guess.TOGETHER:
            liking = rng.uniform(10.0, 90.0, (self.n_samples, 1))[at]
            own = liking + rng.normal(0.0, 6.0, y.shape[1:])
        if self.guess is Guess.LASTING:
            own = opinion[at] + rng.normal(0.0, 6.0, y.shape[1:])
        y[0] = own

    def _frame(self, session: str, y: np.ndarray, at: np.ndarray) -> pd.DataFrame:
        i, g, d = (part.ravel() for part in np.indices(y.shape))
        replicate = np.where(g >= self.n_samples, 2, 1)
        frame = pd.DataFrame(
            {
                "session": session,
                "assessor": [f"P{n:02d}" for n in i],
                "sample": [f"x{n:02d}" for n in at[g]],
                "replicate": replicate,
                "descriptor": [f"note {n:02d}" for n in d],
                "score": y.ravel(),
            }
        )
        return frame.assign(kind="test")
