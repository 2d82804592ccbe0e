"""Made-up panels whose truth is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

COLUMNS = ["session", "assessor", "sample", "replicate", "descriptor", "score"]


@dataclass(frozen=True)
class Evening:
    """One made-up session.

    Attributes
    ----------
    spread
        Sd of the samples in points; noise is `noise`, interaction sd is `interaction`.
    flat, reversed_on, swapped
        An assessor with the note he smells nothing of; one who has a note the wrong way round;
        one with two samples changed over.
    """

    session: str = "S1"
    n_assessors: int = 8
    n_samples: int = 6
    n_notes: int = 4
    replicates: int = 2
    spread: float = 12.0
    noise: float = 5.0
    interaction: float = 2.0
    flat: tuple[int, int] | None = None
    reversed_on: tuple[int, int] | None = None
    swapped: tuple[int, int, int] | None = None
    kind: str = "test"

    def scores(self, seed: int = 1) -> pd.DataFrame:
        """Draw the scores, whole numbers on 0 to 100."""
        rng = np.random.default_rng(seed)
        truth = rng.normal(0.0, 1.0, (self.n_samples, self.n_notes))
        truth = self.spread * (truth - truth.mean(axis=0)) / truth.std(axis=0)
        rows = []
        for i in range(self.n_assessors):
            seen = self._seen(i, truth)
            level = rng.normal(45.0, 6.0, self.n_notes)
            private = rng.normal(0.0, self.interaction, seen.shape)
            for j in range(self.n_samples):
                for k in range(self.replicates):
                    y = level + seen[j] + private[j] + rng.normal(0.0, self.noise, self.n_notes)
                    for d, score in enumerate(np.clip(y, 0.0, 100.0).round()):
                        rows.append((self.session, f"P{i}", f"x{j}", k + 1, f"note {d}", score))
        frame = pd.DataFrame(rows, columns=COLUMNS)
        frame["kind"] = self.kind
        return frame

    def _seen(self, i: int, truth: np.ndarray) -> np.ndarray:
        seen = truth.copy()
        if self.swapped is not None and self.swapped[0] == i:
            j, k = self.swapped[1:]
            seen[[j, k]] = seen[[k, j]]
        if self.flat is not None and self.flat[0] == i:
            seen[:, self.flat[1]] = 0.0
        if self.reversed_on is not None and self.reversed_on[0] == i:
            seen[:, self.reversed_on[1]] *= -1.0
        return seen


@dataclass(frozen=True)
class Years:
    """Several sessions with returning samples, a reference in each, absences and duplicates."""

    n_sessions: int = 12
    n_samples: int = 40
    n_assessors: int = 7
    n_notes: int = 3
    per_session: int = 6
    reference: bool = True
    absent: float = 0.15

    def draw(self, seed: int = 1) -> tuple[pd.DataFrame, np.ndarray]:
        """Scores, and the mean score the panel would give each sample, (samples, notes)."""
        rng = np.random.default_rng(seed)
        q, n, d = self.n_samples, self.n_assessors, self.n_notes
        tau, level = rng.normal(45, 12, (q, d)), rng.normal(0, 6, (n, d))
        opinion = rng.normal(0, 4, (n, q, d))
        tau[:, 0] = np.clip(tau[:, 0], 15, 85)
        rows = []
        for t in range(self.n_sessions):
            mood = rng.normal(0, 3, d)
            poured = [(t * (self.per_session - 1) + j) % q for j in range(self.per_session)]
            if self.reference:
                poured = list(dict.fromkeys([0, *poured]))
            for i in range(n):
                if rng.random() < self.absent:
                    continue
                own = rng.normal(0, 3, d)
                for j in poured:
                    for k in range(2 if j == poured[1] else 1):
                        y = tau[j] + level[i] + mood + own + opinion[i, j] + rng.normal(0, 6, d)
                        y = np.clip(y, 0, 100).round()
                        rows += [
                            (f"S{t:02d}", f"P{i}", f"x{j:02d}", k + 1, f"note {m}", y[m])
                            for m in range(d)
                        ]
        frame = pd.DataFrame(rows, columns=COLUMNS)
        dates = pd.Timestamp("2023-01-10") + pd.to_timedelta(
            14 * frame["session"].str[1:].astype(int), unit="D"
        )
        frame = frame.assign(held_on=dates)
        frame["cask"] = "cask " + frame["sample"].str[1:]
        frame.loc[frame["sample"] == "x00", "cask"] = None
        frame["kind"] = np.where(frame["sample"] == "x00", "reference", "test")
        frame["filling"] = frame["cask"] + "/1"
        return frame, tau + level.mean(axis=0) + opinion.mean(axis=0)
