"""Made-up houses of several sessions whose people are known: scales, noises, signal shares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

NOTE = "smoke"


@dataclass(frozen=True)
class House:
    """A house, and how unlike its people are; in points of the 0-100 line.

    Attributes
    ----------
    spread, noise, opinion
        Sd of the samples, of the middle assessor's scores, of lasting disagreement.
    noise_ratio, scale_sd
        Noises are so many times more or less than the middle one; sd of the scales.
    odd
        The first assessor smells nothing of it, the second has it the wrong way round.
    """

    n_sessions: int = 6
    n_assessors: int = 8
    per_session: int = 6
    spread: float = 12.0
    noise: float = 8.0
    noise_ratio: float = 1.5
    scale_sd: float = 0.3
    opinion: float = 4.0
    absent: float = 0.15
    odd: bool = False


@dataclass(frozen=True)
class Truth:
    """What was drawn: scales, noises and the reliability of one visit of all these people."""

    scale: np.ndarray
    noise: np.ndarray
    opinion: float
    spread: float

    @property
    def reliability(self) -> float:
        """Of one visit of all of them."""
        told = self.spread**2 * np.sum(self.scale**2 / (self.noise**2 + self.opinion**2))
        return float(told / (1.0 + told))

    @property
    def signal_share(self) -> np.ndarray:
        """Of each."""
        heard = (self.scale * self.spread) ** 2
        found: np.ndarray = heard / (heard + self.opinion**2 + self.noise**2)
        return found


def people(house: House, n: int, rng: np.random.Generator) -> Truth:
    """Draw people."""
    scale = np.maximum(rng.normal(1.0, house.scale_sd, n), 0.2)
    if house.odd:
        scale[0], scale[1] = 0.0, -scale[1]
    noise = house.noise * np.exp(rng.normal(0.0, np.log(house.noise_ratio), n))
    return Truth(scale, noise, house.opinion, house.spread)


def draw(house: House, seed: int) -> tuple[pd.DataFrame, Truth]:
    """Scores of a house, and the truth behind them."""
    rng = np.random.default_rng(seed)
    j, n = house.n_assessors, house.n_sessions * house.per_session + 1
    truth = people(house, j, rng)
    tau, level = rng.normal(0.0, house.spread, n), rng.normal(45.0, 6.0, j)
    opinion = rng.normal(0.0, house.opinion, (j, n))
    rows = []
    for t in range(house.n_sessions):
        new = 1 + t * house.per_session + np.arange(house.per_session)
        glasses = [(0, 1), *((int(s), 1) for s in new), (int(new[0]), 2)]
        mood = rng.normal(0.0, 3.0)
        for i in np.flatnonzero(rng.random(j) >= house.absent):
            own = mood + level[i] + rng.normal(0.0, 3.0)
            for s, k in glasses:
                y = own + truth.scale[i] * tau[s] + opinion[i, s] + rng.normal(0, truth.noise[i])
                score = float(np.clip(np.round(y), 0, 100))
                kind = "test" if s else "reference"
                rows.append((f"S{t:02d}", f"P{i:02d}", f"x{s:03d}", k, NOTE, score, kind))
    names = ["session", "assessor", "sample", "replicate", "descriptor", "score", "kind"]
    return pd.DataFrame(rows, columns=names), truth
