"""Made-up panels whose scales, noises and samples are known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd


@dataclass(frozen=True)
class Panel:
    """A panel with scales and noises of its own; one visit a sample, a reference each evening.

    Attributes
    ----------
    scales, noises
        Of each assessor.
    slips
        Share of scores that are replaced by anything on the line.
    draws
        Draws of each filling; they differ by `within`.
    """

    scales: tuple[float, ...] = (0.6, 0.8, 1.0, 1.0, 1.2, 1.4)
    noises: tuple[float, ...] = (3.0, 4.0, 5.0, 6.0, 8.0, 12.0)
    n_samples: int = 60
    visits: int = 1
    per_session: int = 6
    slips: float = 0.0
    draws: int = 1
    within: float = 0.0
    spread: float = 12.0
    descriptor: str = "smoke"

    def truth(self, seed: int) -> np.ndarray:
        """Deviation of each sample from the mean."""
        rng = np.random.default_rng(seed)
        fillings = rng.normal(0.0, self.spread, self.n_samples // self.draws)
        return np.repeat(fillings, self.draws) + rng.normal(0.0, self.within, self.n_samples)

    def scores(self, seed: int = 1) -> pd.DataFrame:
        """Scores; the sample ``ref`` is the reference."""
        rng, truth = np.random.default_rng(seed + 1000), self.truth(seed)
        rows: list[tuple[str, str, str, float]] = []
        session = 0
        for _ in range(self.visits):
            order = rng.permutation(self.n_samples)
            for first in range(0, self.n_samples, self.per_session):
                rows += self._evening(session, order[first : first + self.per_session], truth, rng)
                session += 1
        frame = pd.DataFrame(rows, columns=["session", "assessor", "sample", "score"])
        frame = frame.assign(replicate=1, descriptor=self.descriptor)
        frame["kind"] = np.where(frame["sample"] == "ref", "reference", "test")
        code = frame["sample"].str[1:].where(frame["sample"] != "ref")
        frame["filling"] = "F" + (pd.to_numeric(code) // self.draws).astype("string")
        return frame

    def _evening(
        self, session: int, samples: np.ndarray, truth: np.ndarray, rng: np.random.Generator
    ) -> list[tuple[str, str, str, float]]:
        mood = rng.normal(0.0, 3.0)
        rows = []
        for j, (scale, noise) in enumerate(zip(self.scales, self.noises, strict=True)):
            for i in (-1, *samples):
                y = 45.0 + 4.0 * (j % 3) + mood + scale * (truth[i] if i >= 0 else 0.0)
                y += rng.normal(0.0, noise)
                if rng.random() < self.slips:
                    y = rng.uniform(0.0, 100.0)
                name = "ref" if i < 0 else f"x{i:03d}"
                rows.append((f"S{session:03d}", f"P{j}", name, float(np.clip(y, 0.0, 100.0))))
        return rows
