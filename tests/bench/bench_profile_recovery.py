"""Choosing the best five of 60 casks: regret and coverage of the profile beside raw means.

A world written for it: eight assessors, offsets of sd 10, log-scales of sd .35, noise of 10
points times or over 1.5, 20 % absences, covariates that explain 40 % of the casks, a reference
each evening. The broken one adds Student noise (3 degrees), 3 % swapped glasses, one assessor
who smells nothing, a compressed line half of the time, and whole points on 0 to 100.

    python -m tests.bench.bench_profile_recovery [WORLDS] [FIRST_SEED]
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.profile import estimate_profile

N_CASKS, N_ASSESSORS, PER_EVENING, BEST = 60, 8, 6, 5
SPREAD, EXPLAINED = 9.0, 0.4


@dataclass(frozen=True)
class World:
    """Scores, covariates, and the mean score the panel would be expected to give."""

    scores: pd.DataFrame
    covariates: pd.DataFrame
    truth: np.ndarray


class _People:
    def __init__(self, rng: np.random.Generator, *, broken: bool) -> None:
        self.scale = np.exp(rng.normal(0.0, 0.35, N_ASSESSORS))
        if broken:
            self.scale[rng.integers(N_ASSESSORS)] = 0.0
        self.scale /= self.scale.mean()
        self.noise = 10.0 * np.exp(rng.normal(0.0, np.log(1.5), N_ASSESSORS))
        self.offset = rng.normal(0.0, 10.0, N_ASSESSORS)
        self.opinion = rng.normal(0.0, 3.0, (N_ASSESSORS, N_CASKS + 1))
        self.broken, self.compressed = broken, broken and rng.random() < 0.5

    def line(self, z: np.ndarray) -> np.ndarray:
        if self.compressed:
            z = 50.0 + 42.0 * np.tanh((z - 50.0) / 42.0)
        return np.clip(np.round(z), 0.0, 100.0) if self.broken else z

    def errors(self, rng: np.random.Generator, j: int, size: int) -> np.ndarray:
        raw = rng.standard_t(3, size) / np.sqrt(3.0) if self.broken else rng.normal(size=size)
        found: np.ndarray = raw * self.noise[j]
        return found


def world(seed: int, visits: int, *, broken: bool) -> World:
    """Draw one world."""
    rng = np.random.default_rng(seed)
    x = rng.normal(size=(N_CASKS, 3))
    told = x @ rng.normal(size=3)
    told = (told - told.mean()) / told.std() * SPREAD * np.sqrt(EXPLAINED)
    tau = np.append(told + rng.normal(0.0, SPREAD * np.sqrt(1.0 - EXPLAINED), N_CASKS), 0.0)
    people = _People(rng, broken=broken)
    rows: list[tuple[str, str, str, float]] = []
    for evening in range(visits * N_CASKS // PER_EVENING):
        if evening % (N_CASKS // PER_EVENING) == 0:
            order = rng.permutation(N_CASKS)
        first = evening % (N_CASKS // PER_EVENING) * PER_EVENING
        rows += _evening(rng, evening, order[first : first + PER_EVENING], tau, people)
    frame = pd.DataFrame(rows, columns=["session", "assessor", "sample", "score"])
    frame = frame.assign(replicate=1, descriptor="note", scale_low=-400.0, scale_high=600.0)
    if broken:
        frame = frame.drop(columns=["scale_low", "scale_high"])
    names = [f"c{i:02d}" for i in range(N_CASKS)]
    covariates = pd.DataFrame(x, columns=["a", "b", "c"], index=names)
    return World(frame, covariates, _truth(tau, people, seed))


def _evening(
    rng: np.random.Generator, evening: int, casks: np.ndarray, tau: np.ndarray, people: _People
) -> list[tuple[str, str, str, float]]:
    poured, mood = np.append(casks, N_CASKS), rng.normal(0.0, 3.0)
    rows = []
    for j in range(N_ASSESSORS):
        if rng.random() < 0.2:
            continue
        nosed = poured.copy()
        for k in range(len(nosed)):
            if people.broken and rng.random() < 0.03:
                other = int(rng.integers(len(nosed)))
                nosed[[k, other]] = nosed[[other, k]]
        z = 45.0 + people.offset[j] + mood + rng.normal(0.0, 3.0) + people.scale[j] * tau[nosed]
        y = people.line(z + people.opinion[j, nosed] + people.errors(rng, j, len(nosed)))
        rows += [
            (f"S{evening:03d}", f"P{j}", f"c{i:02d}" if i < N_CASKS else "ref", float(score))
            for i, score in zip(poured, y, strict=True)
        ]
    return rows


def _truth(tau: np.ndarray, people: _People, seed: int) -> np.ndarray:
    """Expected mean score of the panel, over moods and noise."""
    rng = np.random.default_rng(seed + 10**6)
    total = np.zeros(N_CASKS + 1)
    for j in range(N_ASSESSORS):
        sure = 45.0 + people.offset[j] + people.scale[j] * tau + people.opinion[j]
        if not people.broken:
            total += sure / N_ASSESSORS
            continue
        error = people.errors(rng, j, 600) + rng.normal(0.0, np.hypot(3.0, 3.0), 600)
        total += people.line(sure + error[:, None]).mean(axis=0) / N_ASSESSORS
    return total[:N_CASKS]


def regret(estimate: np.ndarray, truth: np.ndarray) -> float:
    """Points by which the five chosen fall short of the five best."""
    return float(np.sort(truth)[-BEST:].mean() - truth[np.argsort(estimate)[-BEST:]].mean())


def measure(seeds: range, visits: int, *, broken: bool) -> pd.DataFrame:
    """Regret of each way of choosing, and how often the bands hold the truth."""
    rows = []
    for seed in seeds:
        made = world(seed, visits, broken=broken)
        step = 1.0 if broken else 10.0
        offset = 0.0 if broken else 400.0
        row = {}
        for name, covariates in (("alone", None), ("told", made.covariates)):
            found = estimate_profile(made.scores, covariates=covariates).estimates
            found = found[found["sample"] != "ref"].sort_values("sample")
            estimate = found["estimate"].to_numpy() * step - offset
            z = (estimate - made.truth) / (found["se"].to_numpy() * step)
            row[name] = regret(estimate, made.truth)
            row[f"{name} covers"] = float(np.mean(np.abs(z) < 1.959964))
        raw = made.scores.groupby("sample")["score"].mean().drop("ref").to_numpy()
        row["raw"] = regret(raw, made.truth)
        rows.append(row)
    return pd.DataFrame(rows)


def _shown(values: np.ndarray) -> str:
    return f"{values.mean():5.2f} ({values.std(ddof=1) / np.sqrt(len(values)):.2f})"


def main() -> None:
    """Print a line a world."""
    worlds = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 5000
    start = time.perf_counter()
    print(f"{worlds} worlds from seed {first}; regret in points (standard error)")
    print("                  raw means     profile       with covariates  95 % bands hold")
    for broken in (False, True):
        for visits in (1, 3):
            found = measure(range(first, first + worlds), visits, broken=broken)
            said = "  ".join(_shown(found[k].to_numpy(float)) for k in ("raw", "alone", "told"))
            covers = [found[f"{k} covers"].to_numpy(float).mean() for k in ("alone", "told")]
            name = "broken" if broken else "clean"
            print(f"{name:7s}{visits} visits  {said}    {covers[0]:.3f} {covers[1]:.3f}")
    print(f"{time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main()
