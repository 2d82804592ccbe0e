"""How often glasses are said to have come in classes where trays differ: free orders, and risen.

Run: .venv/bin/python -m tests.bench.words_incomplete [WORLDS]

Each assessor gets some of the samples and one of them twice. In free worlds every order is random;
in the others a third of the samples, the smoky ones, come last on every tray.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis.agreement.one_session.in_one_order import classes_of
from panel.session.codes import generator
from panel.session.incomplete import near_balanced

SIZES = ((14, 6, 6), (30, 6, 14), (12, 6, 10), (6, 6, 6), (6, 6, 4), (6, 6, 3))
"""Samples, samples each, assessors."""
Glass = tuple[int, int]


def served(trays: Sequence[Sequence[Glass]]) -> pd.DataFrame:
    """Lay trays out as glasses with their places."""
    rows = [
        (str(sample), replicate, str(who), float(place), "test")
        for who, tray in enumerate(trays)
        for place, (sample, replicate) in enumerate(tray, start=1)
    ]
    return pd.DataFrame(rows, columns=["sample", "replicate", "assessor", "position", "kind"])


def world(size: tuple[int, int, int], seed: int, *, risen: bool) -> pd.DataFrame:
    """Lay the trays of one session."""
    samples, each, assessors = size
    rng = np.random.default_rng([seed, *size, risen])
    whole = [tuple(range(samples))] * assessors
    chosen = near_balanced(*size, generator(seed, "trays")) if each < samples else whole
    trays = []
    for row in chosen:
        twice = row[rng.integers(each)] if each < samples else 0
        tray = [*((sample, 1) for sample in row), (twice, 2)]
        tray = [tray[i] for i in rng.permutation(len(tray))]
        trays.append(sorted(tray, key=lambda glass: risen and glass[0] >= samples * 2 // 3))
    return served(trays)


def main() -> None:
    worlds = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print("samples each assessors   said of free orders   two classes found")
    for size in SIZES:
        free = [classes_of(world(size, seed, risen=False))[0].max() > 0 for seed in range(worlds)]
        risen = [classes_of(world(size, seed, risen=True))[0].max() == 1 for seed in range(worlds)]
        said = f"{np.mean(free):19.3f} {np.mean(risen):19.3f}"
        print(f"{size[0]:7d} {size[1]:4d} {size[2]:9d}  {said}")


if __name__ == "__main__":
    main()
