"""Cellars of 60 casks that six noses have had seven sessions of, and which casks suit a target.

Levels of sd 10 about 45, drawn in one of several ways; offsets of sd 8, log-scales of sd .2, noise
of 14 points times or over 1.28, lasting opinions of sd 3; one in eight is away. Nine casks a
session, those nosed least, on every tray. Fourteen casks in fifteen lie below the aim.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.target import Target, TargetLine

TOLERANCE, SHARE_BELOW = 8.0, 0.93
_LEVEL, _SPREAD, _NOISE, _OPINION = 45.0, 10.0, 14.0, 3.0
_SESSIONS, _PEOPLE, _GLASSES = 7, 6, 9

Drawn = Callable[[np.random.Generator, int], np.ndarray]


def _groups(share: float) -> Drawn:
    """Two groups, the upper of so many; of mean 0 and sd 1 but for a fifth within each."""
    apart = 1.0 / np.sqrt(share * (1.0 - share))

    def drawn(rng: np.random.Generator, n: int) -> np.ndarray:
        upper = (rng.random(n) < share) - share
        found: np.ndarray = apart * upper + 0.2 * rng.normal(size=n)
        return found

    return drawn


CELLARS: Mapping[str, Drawn] = {
    "normal": lambda rng, n: rng.normal(size=n),
    "a long tail above": lambda rng, n: rng.exponential(size=n) - 1.0,
    "a long tail below": lambda rng, n: 1.0 - rng.exponential(size=n),
    "two groups": _groups(0.5),
    "a few far above": _groups(0.2),
    "a few far below": _groups(0.8),
}


@dataclass(frozen=True)
class Cellar:
    """Cellars of one kind, one a seed."""

    kind: str
    n_casks: int = 60

    def draw(self, seed: int) -> tuple[pd.DataFrame, dict[str, bool]]:
        """Scores, and of each cask whether the panel would be expected to score it within."""
        rng, level = self._begin(seed)
        offset = rng.normal(0.0, 8.0, _PEOPLE)
        scale = np.exp(rng.normal(0.0, 0.2, _PEOPLE))
        opinion = rng.normal(0.0, _OPINION, (_PEOPLE, self.n_casks))
        lasting = offset[:, None] + (scale / scale.mean())[:, None] * (level - 50.0) + opinion
        found = np.clip(50.0 + lasting, 0.0, 100.0)
        noise = _NOISE * np.exp(rng.normal(0.0, 0.25, _PEOPLE))
        within = np.abs(found.mean(axis=0) - self._aim(level)) <= TOLERANCE
        return self._scores(rng, 50.0 + lasting, noise), {
            f"c{i:02d}": bool(one) for i, one in enumerate(within)
        }

    def target(self, seed: int) -> Target:
        """What the cellar of a seed is asked for."""
        return Target("High", (TargetLine("note", self._aim(self._begin(seed)[1]), TOLERANCE),))

    def _begin(self, seed: int) -> tuple[np.random.Generator, np.ndarray]:
        rng = np.random.default_rng([seed, list(CELLARS).index(self.kind), 42])
        return rng, _LEVEL + _SPREAD * CELLARS[self.kind](rng, self.n_casks)

    def _aim(self, level: np.ndarray) -> float:
        return float(np.clip(np.round(np.quantile(level, SHARE_BELOW)), 1.0, 99.0))

    def _scores(
        self, rng: np.random.Generator, lasting: np.ndarray, noise: np.ndarray
    ) -> pd.DataFrame:
        visits, rows = np.zeros(self.n_casks), []
        for session in range(_SESSIONS):
            poured = np.argsort(visits + 0.9 * rng.random(self.n_casks))[:_GLASSES]
            visits[poured] += 1
            there = rng.random(_PEOPLE) >= 0.12
            there[:2] = True
            for person in np.flatnonzero(there):
                y = lasting[person, poured] + noise[person] * rng.normal(size=len(poured))
                rows += [
                    (f"S{session}", f"P{person}", f"c{cask:02d}", round(float(score), 1))
                    for cask, score in zip(poured, np.clip(y, 0.0, 100.0), strict=True)
                ]
        frame = pd.DataFrame(rows, columns=["session", "assessor", "sample", "score"])
        return frame.assign(
            replicate=1,
            descriptor="note",
            kind="test",
            cask=frame["sample"],
            filling=frame["sample"],
        )
