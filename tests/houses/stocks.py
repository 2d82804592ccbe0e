"""Small stocks and targets for the tests of this folder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from analysis.target import Target, TargetLine
from analysis.vatting import Stock

WOODS = ("bourbon barrel", "oak butt", "red wine barrique")


def stock_of(
    n: int,
    descriptors: Sequence[str] = ("smoke", "plum"),
    *,
    seed: int = 1,
    sd: float = 2.0,
    **columns: Any,
) -> Stock:
    """A stock of `n` casks; `columns` replace or add columns of the casks frame, a value a cask."""
    rng = np.random.default_rng(seed)
    frame = pd.DataFrame(
        {
            "cask": [f"C{i:03d}" for i in range(n)],
            "filling": [f"C{i:03d}/1" for i in range(n)],
            "wood": rng.choice(WOODS, n),
            "make": rng.choice(["Reed", "Ember"], n),
            "age_years": rng.uniform(8.0, 20.0, n),
            "abv": rng.uniform(52.0, 62.0, n),
            "bulk_l": rng.uniform(120.0, 260.0, n),
            "status": "filled",
        }
    )
    for name, values in columns.items():
        frame[name] = pd.Series(values, index=frame.index)
    shape = (n, len(descriptors))
    return Stock(
        casks=frame,
        descriptors=tuple(descriptors),
        estimate=rng.uniform(5.0, 70.0, shape),
        sd=np.full(shape, sd),
        as_of=date(2026, 1, 15),
    )


def target_of(aims: Mapping[str, float], tolerance: float = 5.0) -> Target:
    """A target with one tolerance for all lines."""
    lines = tuple(TargetLine(name, aim, tolerance) for name, aim in aims.items())
    return Target("Sallow Lantern", lines)
