"""Exact intervals and exact tests of passing beside scipy's, which take other ways."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest, fisher_exact

from analysis.passing import exact_interval
from analysis.passing.mornings import by_chance


@pytest.mark.parametrize("level", [0.9, 0.95, 0.99])
@pytest.mark.parametrize(("hits", "of"), [(0, 1), (0, 10), (1, 6), (5, 6), (6, 6), (37, 412)])
def test_intervals_are_those_of_binomtest(hits: int, of: int, level: float) -> None:
    beside = binomtest(hits, of).proportion_ci(level, method="exact")
    assert exact_interval(hits, of, level) == pytest.approx((beside.low, beside.high), abs=1e-12)


@pytest.mark.parametrize(
    ("hits", "of", "low", "high"),
    [
        # Newcombe (1998), Statistics in Medicine 17:857-872, table I, exact; from memory of it.
        (81, 263, 0.2527, 0.3676),
        (15, 148, 0.0578, 0.1617),
        (0, 20, 0.0, 0.1684),
        (1, 29, 0.0009, 0.1776),
    ],
)
def test_intervals_are_the_published_ones(hits: int, of: int, low: float, high: float) -> None:
    assert exact_interval(hits, of) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("caught", "stopped"), [((8, 10), (1, 20)), ((1, 10), (2, 20)), ((1, 1), (0, 40))]
)
def test_catching_by_chance_is_fishers(caught: tuple[int, int], stopped: tuple[int, int]) -> None:
    table = [[hits, of - hits] for hits, of in (caught, stopped)]
    assert by_chance(caught, stopped) == pytest.approx(fisher_exact(table, "greater").pvalue)
