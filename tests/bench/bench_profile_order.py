"""How well the profile's bands hold where notes fade along the tray, with terms for it and without.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_profile_order [WORLDS]

Twenty-four casks nosed twice in six sessions of eight people, beside a reference, or eight in one
session; in one order for all, an order of everybody's own, or rising classes of smoke; a fall of
1.8 points a glass, none, or one that is another in each session. Printed are the share of 90 %
bands of the casks, and of 90 % intervals of their differences, that hold the truth, and the root
mean square error.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import itertools
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from analysis.profile import ProfileSettings, estimate_profile
from tests.bench.bench_words_order import Trays

NOTES = ("birch smoke", "plum", "wax")
N_ASSESSORS, PER_SESSION, VISITS = 8, 8, 2
Z_90 = 1.644854
SETTINGS = {"with": ProfileSettings(processes=1), "without": ProfileSettings(order=False)}


@dataclass(frozen=True)
class Poured:
    """One kind of house.

    Attributes
    ----------
    fall, fall_sd
        Points that a glass further on is lower, and its spread from session to session.
    carry
        Points for one point of smoke in the glass before.
    """

    trays: Trays
    fall: float = 1.8
    fall_sd: float = 0.0
    carry: float = 0.0
    n_casks: int = 24

    def drawn(self, seed: int) -> tuple[pd.DataFrame, np.ndarray]:
        """Scores, and what the panel would be expected to score, (casks, notes)."""
        rng = np.random.default_rng([seed, 41])
        truth, classes = self._truth(rng)
        people = (
            rng.normal(0.0, 6.0, (N_ASSESSORS, len(NOTES))),
            np.exp(rng.normal(0.0, 0.2, (N_ASSESSORS, len(NOTES)))),
            rng.normal(0.0, 3.0, (N_ASSESSORS, len(truth), len(NOTES))),
        )
        people[1][:] /= people[1].mean(axis=0)
        y = people[0][:, None] + people[1][:, None] * (truth - truth.mean(axis=0)) + people[2]
        y += truth.mean(axis=0)
        visits = VISITS if self.n_casks > PER_SESSION else 1
        order = np.concatenate([rng.permutation(self.n_casks) for _ in range(visits)])
        flights = order.reshape(-1, PER_SESSION)
        frames = [self._session(rng, t, flight, y, classes) for t, flight in enumerate(flights)]
        wanted = y.mean(axis=0)[: self.n_casks]
        return pd.concat(frames, ignore_index=True), wanted

    def _truth(self, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
        n = self.n_casks + 1
        classes = rng.permutation(np.arange(n) % 3)
        truth = 42.0 + 8.0 * np.sqrt(3.0) * rng.uniform(-1.0, 1.0, (n, len(NOTES)))
        truth[:, 0] = 20.0 + 18.0 * classes + rng.uniform(0.0, 14.0, n)
        return truth, classes

    def _session(
        self,
        rng: np.random.Generator,
        visit: int,
        flight: np.ndarray,
        felt: np.ndarray,
        classes: np.ndarray,
    ) -> pd.DataFrame:
        poured = np.append(flight, self.n_casks) if self.n_casks > PER_SESSION else flight
        keys = classes[poured] if self.trays is Trays.RISING else np.zeros(len(poured))
        draws = [np.lexsort((rng.random(len(poured)), keys)) for _ in range(N_ASSESSORS)]
        if self.trays is Trays.ONE:
            draws = [draws[0]] * N_ASSESSORS
        orders = poured[np.array(draws)]
        place = np.arange(len(poured)) - (len(poured) - 1.0) / 2.0
        fall = rng.normal(self.fall, self.fall_sd, len(NOTES))
        smoke = felt[:, :, 0].mean(axis=0)
        before = np.zeros(orders.shape)
        before[:, 1:] = smoke[orders[:, :-1]] - smoke[poured].mean()
        y = felt[np.arange(N_ASSESSORS)[:, None], orders]
        y = y - fall * place[None, :, None] + self.carry * before[:, :, None]
        mood = 3.0 if self.n_casks > PER_SESSION else 0.0
        y += rng.normal(0.0, mood, len(NOTES)) + rng.normal(0.0, 2.0, (N_ASSESSORS, 1, len(NOTES)))
        y += 8.0 * rng.normal(size=y.shape)
        i, g, d = (part.ravel() for part in np.indices(y.shape))
        cask = orders[i, g]
        return pd.DataFrame(
            {
                "session": f"S{visit}",
                "assessor": [f"P{n}" for n in i],
                "sample": [f"C{n:02d}" for n in cask],
                "kind": np.where(cask == self.n_casks, "reference", "test"),
                "replicate": 1,
                "position": g + 1,
                "descriptor": np.array(NOTES)[d],
                "score": np.clip(np.round(y.ravel()), 0.0, 100.0),
            }
        )


@dataclass
class Tally:
    """What came of a kind of house, one number a world."""

    held: list[float] = field(default_factory=list)
    pairs: list[float] = field(default_factory=list)
    squares: list[float] = field(default_factory=list)

    def take(self, hits: Hits) -> None:
        """Count one world."""
        self.held.append(float(np.mean(hits.held)))
        self.pairs.append(float(np.mean(hits.pairs)))
        self.squares.append(hits.squares)

    @property
    def words(self) -> str:
        """The figures."""
        error = np.std(self.held, ddof=1) / np.sqrt(len(self.held))
        rmse = np.sqrt(np.mean(self.squares))
        return f"{np.mean(self.held):.3f} ({error:.3f}) | {np.mean(self.pairs):.3f} | {rmse:.3f}"


@dataclass(frozen=True)
class Hits:
    """Which bands of casks and intervals of differences hold the truth."""

    held: np.ndarray
    pairs: np.ndarray
    squares: float


def hits(scores: pd.DataFrame, truth: np.ndarray, settings: ProfileSettings) -> Hits:
    """Fit one house."""
    found = estimate_profile(scores, settings=settings)
    bands = found.bands(0.9).merge(
        found.estimates, on=["sample", "descriptor"], suffixes=("", "_95")
    )
    names = [f"C{n:02d}" for n in range(len(truth))]
    low, high, estimate = (
        bands.pivot(index="sample", columns="descriptor", values=name)
        .reindex(index=names, columns=list(NOTES))
        .to_numpy()
        for name in ("low", "high", "estimate")
    )
    held = (low <= truth) & (truth <= high)
    pairs = []
    for first, second in itertools.pairwise(names):
        rows = found.compare(first, second).set_index("descriptor").loc[list(NOTES)]
        one, other = names.index(first), names.index(second)
        off = rows["difference"].to_numpy() - (truth[one] - truth[other])
        pairs.append(np.abs(off) <= Z_90 * rows["se"].to_numpy())
    return Hits(held, np.array(pairs), float(np.mean((estimate - truth) ** 2)))


def kinds() -> Iterator[tuple[str, Poured]]:
    """All kinds that are measured."""
    for trays in Trays:
        yield f"{trays}, fall 1.8", Poured(trays)
        yield f"{trays}, no fall", Poured(trays, fall=0.0)
        yield f"{trays}, fall 1.0 give or take .5, smoke hangs on", Poured(trays, 1.0, 0.5, 0.12)
        yield f"{trays}, fall 1.8, one session", Poured(trays, n_casks=PER_SESSION)
        yield f"{trays}, no fall, one session", Poured(trays, fall=0.0, n_casks=PER_SESSION)


def main(worlds: int) -> None:
    """Print everything."""
    started = time.process_time()
    print("| house | 90 % bands | differences | rmse | without: bands | differences | rmse |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, kind in kinds():
        found = {one: Tally() for one in SETTINGS}
        for seed in range(worlds):
            scores, truth = kind.drawn(seed)
            for one, settings in SETTINGS.items():
                found[one].take(hits(scores, truth, settings))
        print(f"| {name} | {found['with'].words} | {found['without'].words} |", flush=True)
    print(f"{time.process_time() - started:.0f} s of processor")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
