"""How soon a step could be found by somebody who knows more than any chart can.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_drift_bound [PEOPLE]

The people of `bench_drift` before one who knows each one's noise, the width of each line, what
every cask truly is, and that sessions do not hang together: only how high somebody stood before,
whether they moved, when and how far is not known. The evidence is the same sum over every start;
its limit is set so that one in a hundred who stand still is called in 40 sessions, looked at after
each from the tenth on. More than is found then cannot well be asked of a chart in that world.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
from collections.abc import Sequence

import numpy as np

from analysis.agreement.sessions.drift_lines import LEAST_SESSIONS
from analysis.agreement.sessions.start_sums import STEP_SD, bayes_factor
from tests.bench.bench_drift import N_GLASSES, OPINION, SCATTER

SESSIONS, WITHIN, FALSE, ABSENT = 40, 20, 0.01, 0.2
_HIGHEST = 1e12


def people(n: int, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Numbers of people who stand still, (people, sessions), who was there, and the sd of each."""
    own = SCATTER * np.exp(rng.normal(0.0, 0.2, n))
    width = np.clip(rng.normal(1.0, 0.25, n), 0.4, 1.8)
    glass = own**2 + (width * OPINION) ** 2
    sd = np.sqrt(OPINION**2 + glass / N_GLASSES)
    there = rng.random((n, SESSIONS)) >= ABSENT
    return rng.normal(0.0, 1.0, (n, SESSIONS)) * sd[:, None], there, sd


def evidence(number: np.ndarray, there: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """Sum over every start after each session; nought before the first that is charted."""
    total = np.cumsum(np.where(there, number, 0.0), axis=1)
    seen = np.cumsum(there, axis=1)
    found = np.zeros(number.shape)
    for last in range(LEAST_SESSIONS - 1, SESSIONS):
        for start in range(1, last + 1):
            before, after = seen[:, start - 1], seen[:, last] - seen[:, start - 1]
            some = there[:, start] & (before > 0)
            n, m = np.maximum(before, 1), np.maximum(after, 1)
            rise = (total[:, last] - total[:, start - 1]) / m - total[:, start - 1] / n
            factor = bayes_factor(rise, np.where(some, sd**2 * (1.0 / n + 1.0 / m), np.inf))
            found[:, last] += np.where(some, np.minimum(factor, _HIGHEST), 0.0)
    return found


def found(limit: float, step: float, at: int, drawn: Sequence[np.ndarray]) -> float:
    """Share of those who step after so many sessions that is called within twenty more."""
    number, there, sd = drawn
    sums = evidence(number + np.where(np.arange(SESSIONS) >= at, step, 0.0), there, sd) > limit
    early = sums[:, :at].any(axis=1)
    return float(np.mean(sums[:, at : at + WITHIN].any(axis=1) & ~early))


def main(words: Sequence[str]) -> None:
    """Print what could be found."""
    drawn = people(int(words[0]) if words else 4000, np.random.default_rng(3))
    limit = float(np.quantile(evidence(*drawn).max(axis=1), 1.0 - FALSE))
    print(f"prior sd of a step {STEP_SD:.0f}, limit {limit:.0f}: {FALSE} falsely in {SESSIONS}")
    for step in (8.0, 10.0, 12.0):
        for at in (20, 10):
            share = found(limit, step, at, drawn)
            error = np.sqrt(share * (1.0 - share) / len(drawn[0]))
            print(f"{step:.0f} points after {at} sessions: {share:.3f} +- {error:.3f}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
