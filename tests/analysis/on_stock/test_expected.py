"""Fillings that are expected: rows of a later stock, nothing before their day, noses unknown."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analysis.on_stock.expected import LOSS_A_YEAR, ExpectedCask, with_expected
from analysis.vatting import build_stock

NEW = ExpectedCask("expected 1.1", date(2027, 4, 1), 200.0, 63.5, "barrel", "Ember")


def test_a_cask_holds_nothing_before_it_is_filled_and_loses_after() -> None:
    casks = pd.DataFrame(
        {"cask": ["a"], "filling": ["a/1"], "age_years": [9.0], "abv": [58.0], "bulk_l": [180.0]}
    ).assign(wood="butt", bars=lambda frame: frame["cask"].map(lambda _: ()))
    notes = pd.DataFrame({"cask": ["a"], "descriptor": "smoke", "estimate": [20.0], "sd": 2.0})
    stock = build_stock(casks, notes)
    before = with_expected(stock, [NEW], date(2026, 6, 30))
    after = with_expected(stock, [NEW], date(2030, 4, 1))
    for held in (before, after):
        assert list(held.names) == ["a", "expected 1.1"]
        assert list(held.casks["expected"]) == [False, True]
        assert np.isnan(held.estimate[1]).all()
        assert list(held.casks["wood"]) == ["butt", "barrel"]
    assert list(before.bulk_litres) == [180.0, 0.0]
    assert after.bulk_litres[1] == pytest.approx(200.0 * (1.0 - LOSS_A_YEAR) ** 3, rel=1e-3)
    assert after.age_years[1] == pytest.approx(3.0, abs=0.01)
    assert list(with_expected(stock, [], date(2030, 4, 1)).casks["expected"]) == [False]
