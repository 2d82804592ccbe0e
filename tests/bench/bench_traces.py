"""Glasses that tell a mild difference in course, and which indices move with amount alone.

    python -m tests.bench.bench_traces [GLASSES]

A line an index: distance in sd of a glass where nobody traces both samples, and glasses of each for
80 % power; mean over sd of one person's difference where everybody traces both, and people for it.
"""

from __future__ import annotations

import sys

import numpy as np

from analysis.array_types import Vector
from analysis.stages.index import log_ratios
from tests.bench.trace_worlds import MILD, STRONG, TWICE, Glasses, glasses, lags_of, people

BOTH_TAILS = 2.8
"""Two-sided .05 and 80 % power by the normal curve: 1.96 + .84."""


AGAIN = 0.2
"""How far the course of one person stretches from glass to glass, where everybody traces both."""
LAG = (3.0, 2.0)
"""Mean and sd of the seconds from sip to first perception."""


def indices(found: Glasses, lags: Vector) -> dict[str, Vector]:
    """Return the indices of some glasses; of stage scores those that are compared with them."""
    return {
        "linger part L / (L + B)": found.linger_part(lags),
        "log ratio of finish to arrival": log_ratios(found.arrival, found.finish),
        "finish less arrival": found.finish - found.arrival,
    }


def distances(
    pair: tuple[tuple[float, float], tuple[float, float]], n: int, wobble: float, seed: int = 0
) -> dict[str, tuple[float, float]]:
    """Return by index the distance where nobody traces both, and where everybody does."""
    rng = np.random.default_rng([seed, 43])
    lone = [glasses(each, people(n, rng, wobble, LAG), rng) for each in pair]
    alone = [indices(each, lags_of(each)) for each in lone]
    who = people(n, rng, wobble, LAG)
    two = [glasses(each, who, rng, again=AGAIN) for each in pair]
    both = [indices(each, lags_of(*two)) for each in two]
    found = {}
    for name in alone[0]:
        first, second = alone[0][name], alone[1][name]
        pooled = np.sqrt((first.var() + second.var()) / 2.0)
        differences = both[1][name] - both[0][name]
        found[name] = (
            float((second.mean() - first.mean()) / pooled),
            float(differences.mean() / differences.std()),
        )
    return found


def glasses_for(distance: float) -> float:
    """Return glasses of each sample for 80 % power."""
    return 2.0 * (BOTH_TAILS / distance) ** 2 if distance else float("inf")


def main(n: int = 40_000) -> None:
    """Print the table."""
    worlds = (("mild", MILD), ("strong", STRONG), ("only twice as much", TWICE))
    for wobble in (0.0, 0.3):
        for name, pair in worlds:
            print(f"{name}, shapes wobble by {wobble:g}")
            for index, (alone, both) in distances(pair, n, wobble).items():
                print(
                    f"  {index:32} {alone:6.2f} {glasses_for(alone):9.1f} glasses of each"
                    f"   {both:6.2f} {(BOTH_TAILS / both) ** 2:9.1f} people"
                )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
