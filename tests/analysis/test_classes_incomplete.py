"""Classes of an order where trays differ: what a glass on two trays can look like by chance."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement.one_session.in_one_order import classes_of
from tests.bench.words_incomplete import world

SIZES = ((14, 6, 6), (12, 6, 10), (6, 6, 6))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.slow
def test_free_orders_are_not_taken_for_classes(size: tuple[int, int, int]) -> None:
    # Own simulation (tests/bench/words_incomplete.py): 0 to .01 of free sessions.
    said = [classes_of(world(size, seed, risen=False))[0].max() > 0 for seed in range(8)]
    assert not any(said)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.slow
def test_smoke_that_came_last_is_found(size: tuple[int, int, int]) -> None:
    # Own simulation (tests/bench/words_incomplete.py): two classes in .97 to 1 of such sessions.
    # Where few trays held a glass, no order tells on which side of the cut it belongs.
    right: list[float] = []
    for seed in range(8):
        glasses = world(size, seed, risen=True)
        found, alone = classes_of(glasses)
        smoky = (glasses["sample"].astype(int) >= size[0] * 2 // 3).to_numpy()
        assert not alone
        right.append(float(np.mean((found == 1) == smoky)))
    assert np.mean(right) > 0.95
