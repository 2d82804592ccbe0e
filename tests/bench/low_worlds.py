"""Panels with notes that most glasses lack, and what each would be expected to score on average.

Five notes of the same glasses: three low ones (`faint`, `slight`, `low`), one in the middle, one
near the upper end. Six to ten people, three to eight evenings, eight to fourteen glasses an
evening with the reference among them, a tenth of the chairs empty.

CLIPPED
    Normal effects, cut off at the ends of the line, whole points.
THRESHOLDS
    Most samples truly lack a low note and the rest are skewed; noise grows with the level and is
    Student's with 5 degrees; each person writes 0 below a threshold of his own.
TENS
    As `CLIPPED`, on a line of eleven marks.
TAILS
    As `CLIPPED`, with noise of 3 degrees, and samples and opinions of 4.

Slips replace a share of the scores by anything on the line; what the panel would be expected to
score is that without slips.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

import numpy as np
import pandas as pd
from scipy.special import ndtri


class Kind(Enum):
    """How a world is made."""

    CLIPPED = "clipped"
    THRESHOLDS = "thresholds"
    TENS = "tens"
    TAILS = "tails"


LEVELS = {"faint": -9.0, "slight": -1.0, "low": 7.0, "middle": 42.0, "high": 72.0}
LOW_NOTES = ("faint", "slight", "low")
_SHARE_WITH = {"faint": 0.15, "slight": 0.3, "low": 0.5}
_MOOD, _OWN_MOOD, _OPINION, _SPREAD = 3.0, 3.0, 3.5, 11.0
_EVENINGS = 400


@dataclass
class World:
    """One house: `scores` as a frame, `truth` by note over the samples, the reference first."""

    seed: int
    kind: Kind
    slips: float = 0.0
    truth: dict[str, np.ndarray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng((self.seed, list(Kind).index(self.kind), 41))
        self._seat()
        self.scores = pd.concat([self._note(note) for note in LEVELS], ignore_index=True)

    def _seat(self) -> None:
        rng = self.rng
        self.people, evenings = int(rng.integers(6, 11)), int(rng.integers(3, 9))
        poured: list[list[int]] = [[] for _ in range(evenings)]
        size, sample = int(rng.integers(8, 15)), 1
        while min(len(glasses) for glasses in poured) < size - 1:
            visits = min(int(rng.choice([1, 2, 3], p=[0.55, 0.3, 0.15])), evenings)
            open_ = [t for t in rng.permutation(evenings) if len(poured[t]) < size - 1]
            for t in open_[:visits]:
                poured[t].append(sample)
            sample += 1
        self.evenings, self.samples = evenings, sample
        there = rng.random((evenings, self.people)) > 0.1
        there[:, :2] = True
        glasses = [
            (t, j, i)
            for t in range(evenings)
            for j in range(self.people)
            if there[t, j]
            for i in (0, *poured[t])
        ]
        self.evening, self.person, self.sample = np.array(glasses).T

    def _note(self, note: str) -> pd.DataFrame:
        rng, kind, n, k = self.rng, self.kind, self.samples, self.people
        scale = np.exp(rng.normal(0.0, 0.25, k))
        scale /= scale.mean()
        self.noise = 6.0 * np.exp(rng.normal(0.0, 0.3, k))
        self.threshold = rng.uniform(1.0, 9.0, k)
        level, offset, heavy = LEVELS[note], rng.normal(0.0, 5.0, k), kind is Kind.TAILS
        sample = _SPREAD * (_student(rng, 4, n) if heavy else rng.normal(size=n))
        opinion = _OPINION * (_student(rng, 4, (k, n)) if heavy else rng.normal(size=(k, n)))
        if kind is Kind.THRESHOLDS and note in LOW_NOTES:
            has = rng.random(n) < _SHARE_WITH[note]
            sample = np.where(has, rng.gamma(2.0, 11.0, n), -4.0)
            level, offset = 0.0, 0.5 * offset
        mean = level + offset[:, None] + scale[:, None] * sample + opinion
        mood = rng.normal(0.0, _MOOD, self.evenings)
        own = rng.normal(0.0, _OWN_MOOD, (self.evenings, k))
        t, j, i = self.evening, self.person, self.sample
        score = self._scored(mean[j, i] + mood[t] + own[t, j], j, rng)
        slip = rng.random(len(score)) < self.slips
        score[slip] = self._on_line(rng.uniform(0.0, 100.0, int(slip.sum())))
        self.truth[note] = self._expected(mean)
        return self._frame(note, score)

    def _scored(self, mean: np.ndarray, who: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        noise = self.noise[who]
        if self.kind is Kind.THRESHOLDS:
            grows = 0.45 + 0.02 * np.clip(mean, 0.0, 100.0)
            felt = mean + noise * grows * _student(rng, 5, mean.shape)
            return self._on_line(np.where(felt < self.threshold[who], 0.0, felt))
        heavy = self.kind is Kind.TAILS
        error = _student(rng, 3, mean.shape) if heavy else rng.normal(size=mean.shape)
        return self._on_line(mean + noise * error)

    def _on_line(self, felt: np.ndarray) -> np.ndarray:
        step = 10.0 if self.kind is Kind.TENS else 1.0
        found: np.ndarray = np.clip(np.round(felt / step) * step, 0.0, 100.0)
        return found

    def _expected(self, mean: np.ndarray) -> np.ndarray:
        """By drawing evenings, the same for every note."""
        rng, k = np.random.default_rng(self.seed), self.people
        who = np.repeat(np.arange(k), self.samples).reshape(mean.shape)
        total = np.zeros(self.samples)
        # Evenings at even quantiles: the same mean from fewer of them.
        for mood in _MOOD * ndtri((np.arange(_EVENINGS) + 0.5) / _EVENINGS):
            own = rng.normal(0.0, _OWN_MOOD, (k, 1))
            total += self._scored(mean + mood + own, who, rng).mean(axis=0)
        found: np.ndarray = total / _EVENINGS
        return found

    def _frame(self, note: str, score: np.ndarray) -> pd.DataFrame:
        return pd.DataFrame(
            {
                "session": [f"S{t}" for t in self.evening],
                "assessor": [f"P{j}" for j in self.person],
                "sample": [f"x{i:03d}" for i in self.sample],
                "kind": np.where(self.sample == 0, "reference", "test"),
                "cask": [f"c{i:03d}" if i else None for i in self.sample],
                "replicate": 1,
                "descriptor": note,
                "score": score,
            }
        )


def _student(rng: np.random.Generator, degrees: int, size: int | tuple[int, ...]) -> np.ndarray:
    """Student noise of sd 1."""
    found: np.ndarray = rng.standard_t(degrees, size) * np.sqrt((degrees - 2) / degrees)
    return found
