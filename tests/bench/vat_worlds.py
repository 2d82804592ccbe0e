"""Invented houses whose casks are vatted: scores of evenings, and what a mixture truly is.

Thirty to seventy casks of three woods, six notes, six to ten people, ten glasses an evening with
the reference among them; a cask is nosed in one to three evenings. Each person has an offset, a
scale and a noise of his own, and opinions of single casks that last. What is true of a cask is the
mean that these people would score it at in the long run. A vatting is truly its casks mixed by
pure alcohol with an exponent of the world's own for each note, and by the error of mixing on top,
which nobody can foretell.

EVEN
    Normal casks about the middle of the line, normal noise, a normal error of mixing of 1.5.
SKEWED
    Most casks have little of a note and a few have much (gamma, shape .8); noise grows with the
    level; mixtures smell of less than their parts, by half a point and an error of mixing that is
    skewed too.
TWO SORTS
    Two notes that one cask in five has strongly and the others not at all, mixed with exponents
    about one half; the other notes as in `EVEN`.
TAILS
    Noise of 3 degrees of freedom, casks of 4, opinions twice as strong.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum

import numpy as np
import pandas as pd

NOTES = ("fen smoke", "plum stone", "wet slate", "warm flour", "walnut skin", "pressed violets")
POTENT = NOTES[:2]
EXPONENT_SPREADS = (0.1, 0.3)
"""Of the logarithm of true exponents about those that a house believes in, by house."""
MIXING_SD, MIXING_SPREAD = 1.5, 0.4
"""Of the error of mixing: root mean square over the houses, and of its logarithm between them."""
_LONG_RUN = 400


class Kind(Enum):
    """How a house is made."""

    EVEN = "even"
    SKEWED = "skewed"
    TWO_SORTS = "two sorts"
    TAILS = "tails"


@dataclass
class House:
    """One house: `scores` and `casks` as frames, `truth` by cask and note, `exponent` by note."""

    seed: int
    kind: Kind
    believed: np.ndarray = field(init=False)
    exponent: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        self.rng = rng = np.random.default_rng((self.seed, list(Kind).index(self.kind), 77))
        self.n = int(rng.integers(30, 71))
        self.people = int(rng.integers(6, 11))
        self.wood = rng.integers(0, 3, self.n + 1)
        potent = np.isin(NOTES, POTENT) & (self.kind in {Kind.TWO_SORTS, Kind.SKEWED})
        self.believed = np.where(potent, 0.5, 1.0)
        self.mixing_sd = MIXING_SD * np.exp(rng.normal(0.0, MIXING_SPREAD) - MIXING_SPREAD**2)
        spread = rng.uniform(*EXPONENT_SPREADS)
        self.exponent = self.believed * np.exp(rng.normal(0.0, spread, len(NOTES)))
        self._seat()
        parts = [self._note(note) for note in range(len(NOTES))]
        self.scores = pd.concat([frame for frame, _ in parts], ignore_index=True)
        self.truth = np.column_stack([truth for _, truth in parts])
        self.casks = self._casks()

    def truly(self, rows: Sequence[int], shares: np.ndarray, draws: int) -> np.ndarray:
        """What a vatting may turn out to be, shape (draws, notes)."""
        rng = np.random.default_rng((self.seed, 5, *rows))
        amounts = np.clip(self.truth[list(rows)], 0.0, 100.0) ** (1.0 / self.exponent)
        mixed = (shares @ amounts) ** self.exponent
        alone = len(rows) == 1
        off = 0.0 if alone else self._mixing(rng, (draws, len(NOTES)))
        found: np.ndarray = np.clip(mixed + off + np.zeros((draws, len(NOTES))), 0.0, 100.0)
        return found

    def _mixing(self, rng: np.random.Generator, size: tuple[int, int]) -> np.ndarray:
        if self.kind is Kind.SKEWED:
            skewed = (rng.gamma(1.5, 1.0, size) - 1.5) / np.sqrt(1.5)
            off: np.ndarray = -0.5 - self.mixing_sd * skewed
            return off
        return rng.normal(0.0, self.mixing_sd, size)

    def _seat(self) -> None:
        """Glasses as (evening, person, cask); cask 0 is the reference."""
        rng = self.rng
        visits = rng.choice([1, 2, 3], self.n, p=[0.4, 0.4, 0.2])
        evenings = max(3, int(np.ceil(visits.sum() / 9)))
        poured = [[0] for _ in range(evenings)]
        for cask, times in enumerate(visits, 1):
            order = sorted(rng.permutation(evenings), key=lambda t: len(poured[t]))
            for t in order[: min(times, evenings)]:
                poured[t].append(cask)
        there = rng.random((evenings, self.people)) > 0.1
        there[:, :2] = True
        glasses = [
            (t, who, cask)
            for t in range(evenings)
            for who in np.flatnonzero(there[t])
            for cask in poured[t]
        ]
        self.evenings = evenings
        self.evening, self.person, self.cask = np.array(glasses).T

    def _note(self, note: int) -> tuple[pd.DataFrame, np.ndarray]:
        rng, k, n = self.rng, self.people, self.n + 1
        tails = self.kind is Kind.TAILS
        scale = np.exp(rng.normal(0.0, 0.2, k))
        scale /= scale.mean()
        noise = 6.0 * np.exp(rng.normal(0.0, 0.3, k))
        opinion = rng.normal(0.0, 5.0 if tails else 2.5, (k, n))
        level = self._levels(note)
        offset = rng.normal(0.0, 4.0, k)
        if level.mean() < 15.0:  # nobody adds to what is not there
            offset = 0.3 * offset
        mean = offset[:, None] + scale[:, None] * level + opinion
        mood = rng.normal(0.0, 2.0, self.evenings)
        own = rng.normal(0.0, 2.0, (self.evenings, k))
        t, who, cask = self.evening, self.person, self.cask
        felt = mean[who, cask] + mood[t] + own[t, who]
        score = self._scored(felt, noise[who], rng)
        long_run = np.random.default_rng((self.seed, note, 9))
        total = np.zeros(n)
        for _ in range(_LONG_RUN):
            moods = long_run.normal(0.0, 2.0) + long_run.normal(0.0, 2.0, (k, 1))
            total += self._scored(mean + moods, noise[:, None], long_run).mean(axis=0)
        return self._frame(note, score), total[1:] / _LONG_RUN

    def _levels(self, note: int) -> np.ndarray:
        rng, n = self.rng, self.n + 1
        of_wood = rng.normal(0.0, 6.0, 3)[self.wood]
        if self.kind is Kind.SKEWED:
            found: np.ndarray = 4.0 + 14.0 * rng.gamma(0.8, 1.0, n) + 0.5 * of_wood
            return found
        if self.kind is Kind.TWO_SORTS and note < 2:
            has = rng.random(n) < 0.2
            return np.where(has, 45.0 + rng.normal(0.0, 10.0, n), rng.normal(1.0, 3.0, n))
        spread = (
            rng.standard_t(4, n) / np.sqrt(2.0) if self.kind is Kind.TAILS else rng.normal(size=n)
        )
        return rng.uniform(25.0, 50.0) + of_wood + 8.0 * spread

    def _scored(self, felt: np.ndarray, noise: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        if self.kind is Kind.TAILS:
            error = rng.standard_t(3, felt.shape) / np.sqrt(3.0)
        else:
            error = rng.normal(size=felt.shape)
        if self.kind is Kind.SKEWED:
            noise = noise * (0.4 + 0.025 * np.clip(felt, 0.0, 100.0))
        found: np.ndarray = np.clip(np.round(felt + noise * error), 0.0, 100.0)
        return found

    def _frame(self, note: int, score: np.ndarray) -> pd.DataFrame:
        names = np.array(["ref", *self.names])
        return pd.DataFrame(
            {
                "session": [f"E{t:02d}" for t in self.evening],
                "assessor": [f"P{who}" for who in self.person],
                "sample": names[self.cask],
                "kind": np.where(self.cask == 0, "reference", "test"),
                "cask": [names[c] if c else None for c in self.cask],
                "filling": [names[c] if c else None for c in self.cask],
                "replicate": 1,
                "descriptor": NOTES[note],
                "score": score,
            }
        )

    @property
    def names(self) -> list[str]:
        return [f"V{i:03d}" for i in range(self.n)]

    def _casks(self) -> pd.DataFrame:
        rng, n = self.rng, self.n
        return pd.DataFrame(
            {
                "cask": self.names,
                "filling": self.names,
                "wood": np.array(["barrel", "hogshead", "butt"])[self.wood[1:]],
                "age_years": rng.uniform(8.0, 20.0, n),
                "abv": rng.uniform(52.0, 62.0, n),
                "bulk_l": rng.uniform(120.0, 260.0, n),
                "status": "filled",
            }
        )
