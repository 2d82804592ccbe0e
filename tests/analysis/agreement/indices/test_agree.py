"""Intraclass correlations at the edge; the published examples are in tests/outside."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement.indices.agree import intraclass

NO_DF = np.array(
    [
        [27.0, 49.5, 43.5, 43.5, 54.0, 55.5, 40.0, 60.0],
        [38.5, 48.0, 40.5, 55.5, 51.5, 60.0, 23.0, 62.5],
        [37.0, 40.0, 38.0, 53.0, 59.0, 59.0, 35.0, 59.0],
        [29.0, 45.0, 36.0, 64.0, 57.0, 56.0, 30.0, 59.0],
        [39.0, 43.0, 38.0, 52.0, 56.0, 55.0, 31.0, 66.0],
        [46.0, 45.0, 39.0, 46.0, 56.0, 39.0, 28.0, 78.0],
    ]
)
"""Like samples for which the interval of 2,1 has hardly a degree of freedom."""


@pytest.mark.filterwarnings("error")
def test_hardly_a_degree_of_freedom() -> None:
    found = intraclass(NO_DF)
    assert found is not None
    for form in ("2,1", "2,k"):
        assert np.isfinite([found[form].low, found[form].high]).all()


@pytest.mark.filterwarnings("error")
def test_below_zero_a_value_lies_in_its_interval_or_cannot_be_told() -> None:
    """Tables of noise: 2,k came out above 1, and intervals beside their value."""
    rng = np.random.default_rng(0)
    told = {True: 0, False: 0}
    for _ in range(600):
        shape = rng.integers(2, 8), rng.integers(2, 9)
        found = intraclass(np.round(rng.normal(40.0, 6.0, shape))) or {}
        for form, part in found.items():
            if form == "2,k":
                told[bool(np.isfinite(part.value))] += 1
            if np.isfinite(part.value):
                assert part.low <= part.value + 1e-9
                assert part.value <= part.high + 1e-9
                assert part.high <= 1.0
            else:
                assert form == "2,k"
    assert min(told.values()) > 10


def test_assessors_who_cancel_each_other_out_have_nothing_to_agree_on() -> None:
    """By hand: B 1/6, J 1/24 and E 49/6, and 1/6 + (1/24 - 49/6) / 3 is below zero."""
    table = np.array([[1.0, 4.5], [3.0, 3.5], [5.0, 0.5]])
    found = intraclass(table)
    assert found is not None
    assert np.isnan([found["2,k"].value, found["2,k"].low, found["2,k"].high]).all()
    assert found["2,1"].value < 0.0
