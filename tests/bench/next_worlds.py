"""Worlds in which sessions are held one after another: 60 casks, eight noses, one note.

Offsets of sd 10, log-scales of sd .35, noise of 10 points times or over 1.5, lasting opinions and
moods of sd 3, a fifth of the people absent each session, covariates that explain 40 % of the
casks. What a session brings depends on the world's seed and the session's number alone, so that
policies meet the same people in the same moods.

Kinds: `normal`; `skewed` and `two_groups` draw the casks' levels otherwise; `broken` is normal with
Student noise (3 degrees), 3 % exchanged glasses, one assessor who smells nothing, a compressed
line half of the time, and whole points from 0 to 100. `middle` is normal with the aim in the middle
of the line, where casks lie on either side of it; of the ways of choosing only *ours* knows an aim.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

N_CASKS, N_PEOPLE, SEATS, BEST = 60, 8, 6, 5
SPREAD, EXPLAINED = 9.0, 0.4
REFERENCE = "ref"
CASKS = [f"c{i:02d}" for i in range(N_CASKS)]
PEOPLE = [f"P{j}" for j in range(N_PEOPLE)]
KINDS = ("normal", "skewed", "two_groups", "broken", "middle")

Trays = Mapping[str, Sequence[str]]
"""By assessor the casks of his glasses, in any order."""


@dataclass(frozen=True)
class House:
    """One world: its people, its casks, and what it can be asked for."""

    seed: int
    kind: str
    tau: np.ndarray
    scale: np.ndarray
    noise: np.ndarray
    offset: np.ndarray
    opinion: np.ndarray
    covariates: pd.DataFrame
    compressed: bool

    @property
    def broken(self) -> bool:
        return self.kind == "broken"

    @property
    def step(self) -> float:
        """Points of the world for one of the line: only broken worlds are told on 0 to 100."""
        return 1.0 if self.broken else 10.0

    def points(self, on_line: np.ndarray) -> np.ndarray:
        found: np.ndarray = on_line * self.step - (0.0 if self.broken else 400.0)
        return found

    @property
    def aim(self) -> float:
        """Points of the line that casks are wanted at; the end of it unless it is the middle."""
        if self.kind != "middle":
            return 100.0
        return float((45.0 + self.offset.mean() + 400.0) / self.step)

    def worth(self, truth: np.ndarray) -> np.ndarray:
        """Points that casks are good for: the more, the nearer to the aim."""
        return -np.abs(truth - self.points(np.array(self.aim))) if self.kind == "middle" else truth

    def who_comes(self, session: int) -> list[str]:
        """Those of the session; at least two."""
        rng = np.random.default_rng([self.seed, 1, session])
        there = rng.random(N_PEOPLE) >= 0.2
        there[rng.permutation(N_PEOPLE)[:2]] |= there.sum() < 2
        return [name for name, here in zip(PEOPLE, there, strict=True) if here]

    def session(self, session: int, trays: Trays) -> pd.DataFrame:
        """Scores of a session, a reference on every tray."""
        mood = np.random.default_rng([self.seed, 2, session]).normal(0.0, 3.0)
        rows = []
        for name, casks in trays.items():
            j = PEOPLE.index(name)
            rng = np.random.default_rng([self.seed, 3, session, j])
            poured = np.array([CASKS.index(cask) for cask in casks] + [N_CASKS])
            level = 45.0 + self.offset[j] + mood + rng.normal(0.0, 3.0)
            nosed = self._exchanged(rng, poured)
            z = level + self.scale[j] * self.tau[nosed] + self.opinion[j, nosed]
            y = self._line(z + self._errors(rng, j, len(nosed)))
            rows += [
                (f"S{session:03d}", name, [*CASKS, REFERENCE][i], float(score))
                for i, score in zip(poured, y, strict=True)
            ]
        frame = pd.DataFrame(rows, columns=["session", "assessor", "sample", "score"])
        is_cask = frame["sample"] != REFERENCE
        frame = frame.assign(
            replicate=1,
            descriptor="note",
            kind=np.where(is_cask, "test", "reference"),
            cask=frame["sample"].where(is_cask, None),
            filling=frame["sample"].where(is_cask, None),
        )
        return frame if self.broken else frame.assign(scale_low=-400.0, scale_high=600.0)

    def truth(self) -> np.ndarray:
        """Mean score that the panel would be expected to give each cask."""
        rng = np.random.default_rng([self.seed, 4])
        total = np.zeros(N_CASKS)
        for j in range(N_PEOPLE):
            sure = 45.0 + self.offset[j] + self.scale[j] * self.tau + self.opinion[j]
            if self.broken:
                error = self._errors(rng, j, 600) + rng.normal(0.0, np.hypot(3.0, 3.0), 600)
                sure = self._line(sure + error[:, None]).mean(axis=0)
            total += sure[:N_CASKS] / N_PEOPLE
        return total

    def _exchanged(self, rng: np.random.Generator, poured: np.ndarray) -> np.ndarray:
        nosed = poured.copy()
        for k in range(len(nosed) if self.broken else 0):
            if rng.random() < 0.03:
                other = int(rng.integers(len(nosed)))
                nosed[[k, other]] = nosed[[other, k]]
        return nosed

    def _errors(self, rng: np.random.Generator, j: int, size: int) -> np.ndarray:
        raw = rng.standard_t(3, size) / np.sqrt(3.0) if self.broken else rng.normal(size=size)
        found: np.ndarray = raw * self.noise[j]
        return found

    def _line(self, z: np.ndarray) -> np.ndarray:
        if self.compressed:
            z = 50.0 + 42.0 * np.tanh((z - 50.0) / 42.0)
        return np.clip(np.round(z), 0.0, 100.0) if self.broken else z


def house(seed: int, kind: str = "normal") -> House:
    """Draw one world."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    x = rng.normal(size=(N_CASKS, 3))
    told = x @ rng.normal(size=3)
    told = (told - told.mean()) / told.std() * SPREAD * np.sqrt(EXPLAINED)
    tau = told + SPREAD * np.sqrt(1.0 - EXPLAINED) * _own(rng, kind)
    scale = np.exp(rng.normal(0.0, 0.35, N_PEOPLE))
    broken = kind == "broken"
    if broken:
        scale[rng.integers(N_PEOPLE)] = 0.0
    return House(
        seed=seed,
        kind=kind,
        tau=np.append(tau, 0.0),
        scale=scale / scale.mean(),
        noise=10.0 * np.exp(rng.normal(0.0, np.log(1.5), N_PEOPLE)),
        offset=rng.normal(0.0, 10.0, N_PEOPLE),
        opinion=rng.normal(0.0, 3.0, (N_PEOPLE, N_CASKS + 1)),
        covariates=pd.DataFrame(x, columns=["a", "b", "c"], index=CASKS),
        compressed=broken and bool(rng.random() < 0.5),
    )


def _own(rng: np.random.Generator, kind: str) -> np.ndarray:
    """What casks have of their own, of sd 1."""
    if kind == "skewed":
        found: np.ndarray = rng.gamma(1.0, 1.0, N_CASKS) - 1.0
    elif kind == "two_groups":
        found = 0.9 * rng.choice([-1.0, 1.0], N_CASKS) + np.sqrt(0.19) * rng.normal(size=N_CASKS)
    else:
        found = rng.normal(size=N_CASKS)
    return found


def regret(estimate: np.ndarray, truth: np.ndarray) -> float:
    """Points by which the five chosen fall short of the five best."""
    return regret_of(np.argsort(-estimate, kind="stable")[:BEST], truth)


def regret_of(chosen: Sequence[int] | np.ndarray, truth: np.ndarray) -> float:
    """The same of some casks."""
    return float(np.sort(truth)[-BEST:].mean() - truth[list(chosen)].mean())
