"""A search by swaps, beside all choices of three casks."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from analysis.vatting.dive import keeps_limits
from analysis.vatting.swap import _kept, _rounded, _terms, swap_search
from tests.analysis.vatting.test_rows_by_hand import (
    THREE,
    model_of,
    plain,
)


@pytest.mark.parametrize("seed", range(4))
def test_swaps_find_the_best_of_all_choices_of_three(seed: int) -> None:
    stock = plain(9)
    stock.estimate[:] = np.random.default_rng(seed).uniform(5.0, 70.0, (9, 2))
    model = model_of(THREE, stock)
    choices = [np.isin(np.arange(9), some).astype(np.float64) for some in combinations(range(9), 3)]
    best = min(model.objective(one) for one in choices if keeps_limits(model, one))
    start = np.where(np.arange(9) < 3, 1.0, 0.0)
    found = swap_search(model, start, np.arange(9.0), 0.0, kicks=40)
    assert found.kept
    assert set(found.fractions.tolist()) == {0.0, 1.0}
    assert model.objective(found.fractions) == pytest.approx(best)


def test_a_search_by_swaps_begins_with_the_largest_fractions() -> None:
    model = model_of(replace(THREE, must_include=("C003",)), plain(5))
    start = np.array([0.2, 0.9, 0.5, 0.0, 0.4])
    assert _rounded(model, start).tolist() == [0.0, 1.0, 1.0, 1.0, 0.0]
    assert _rounded(model, np.zeros(5)).tolist() == [1.0, 0.0, 0.0, 1.0, 0.0]
    terms = _terms(model)
    assert _kept(terms, np.array([1.0, 1.0, 1.0, 0.0, 0.0]))
    assert not _kept(terms, np.array([1.0, 1.0, 0.0, 0.0, 0.0]))
    assert not _kept(terms, np.array([1.0, 1.0, 1.0, 1.0, 0.0]))
