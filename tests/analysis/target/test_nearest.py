"""Casks too far off ever to be the nearest are not drawn, and nothing is told otherwise for it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.target import Target, TargetLine, nearest
from analysis.target.candidates import Candidates

TARGET = Target("Lantern", (TargetLine("smoke", 20.0, 6.0), TargetLine("wax", 0.0, 5.0, 2.0)))
CASKS, DRAWS = 900, 2000


@pytest.fixture
def candidates() -> Candidates:
    """Many casks, a few hundred of them by estimates beyond the end of the line."""
    rng = np.random.default_rng(6)
    estimate = np.column_stack([rng.uniform(-5.0, 90.0, CASKS), rng.uniform(-15.0, 60.0, CASKS)])
    se = rng.uniform(1.5, 4.0, estimate.shape)
    own = se[:, :, None] * se[:, None, :] * np.array([[1.0, 0.4], [0.4, 1.0]])
    common = np.array([1.0, 0.5])
    about = pd.DataFrame({"cask": [f"C{i:03d}" for i in range(CASKS)]})
    counts = np.full(CASKS, 12)
    return Candidates(about, estimate, np.sqrt(se**2 + common), own, common, counts)


def by_distance(candidates: Candidates) -> np.ndarray:
    off = (np.clip(candidates.estimate, 0.0, 100.0) - [20.0, 0.0]) / [6.0, 5.0]
    return np.argsort(off**2 @ [1.0, 2.0])


def test_who_is_not_drawn_is_never_nearer_than_the_first(candidates: Candidates) -> None:
    order = by_distance(candidates)
    hopeful = nearest._hopeful(candidates, TARGET, order)
    assert 20 < len(hopeful) < CASKS / 2
    assert hopeful[:8].tolist() == order[:8].tolist()
    distance = nearest._drawn(candidates, TARGET, order, DRAWS, 1)
    hopeless = ~np.isin(order, hopeful)
    assert not (distance[:, hopeless] <= distance[:, :1]).any()


def test_a_small_stock_is_drawn_whole(candidates: Candidates) -> None:
    order = by_distance(candidates)[: nearest._ALL_DRAWN]
    assert nearest._hopeful(candidates, TARGET, order).tolist() == order.tolist()
