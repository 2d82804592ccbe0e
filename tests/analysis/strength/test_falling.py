"""When casks fall under a strength, and since when those have that fell before the day asked."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from analysis.strength.falling import falls_under
from analysis.strength.yearly import Gauged


def gauged(last: float, since: float, fall: float = 0.02, span: float = 10.0) -> Gauged:
    """One cask that lost so much of its strength a year, gauged `since` years ago."""
    one, nothing = np.ones(1), np.zeros(1)
    return Gauged(
        abv_percent=last * one,
        since_years=since * one,
        last_litres=150.0 * one,
        last_abv_percent=last * one,
        litres_error=0.004 * one,
        taken_litres=nothing,
        taken_years=nothing,
        added_litres=nothing,
        added_years=nothing,
        first_litres=150.0 * one * np.exp(0.02 * span),
        first_abv_percent=last * one * np.exp(fall * span),
        first_error=0.005 * one,
        span_years=span * one,
        fresh=np.ones(1, dtype=np.bool_),
        size_litres=200.0 * one,
        dry=np.zeros(1, dtype=np.bool_),
    )


def test_one_that_fell_before_the_day_is_dated_before_it_as_if_asked_then() -> None:
    """The month is the one that the same gauge gives for a day before it."""
    then = falls_under(gauged(40.6, 0.0), 40.0, months=48)
    now = falls_under(gauged(40.6, 3.0), 40.0, months=48)
    assert 0.0 < then.expected[0] < 36.0
    assert now.expected[0] == pytest.approx(then.expected[0] - 36.0, abs=1.0)
    assert now.earliest[0] <= now.expected[0] <= now.latest[0]


def test_no_cask_fell_before_its_gauge() -> None:
    found = falls_under(gauged(40.01, 1.0, fall=0.05), 40.0, months=12)
    assert -12.5 <= found.expected[0] < 0.0


def house(since: float) -> Gauged:
    """One cask gauged once, near the strength, among 30 strong ones that fall fast."""
    casks = [gauged(40.6, since, span=0.0), *(gauged(55.0, since, fall=0.02) for _ in range(30))]
    columns = (
        np.concatenate([getattr(each, one.name) for each in casks]) for one in fields(Gauged)
    )
    return Gauged(*columns)


def test_a_cask_gauged_once_is_dated_by_what_the_whole_house_loses() -> None:
    """Looking back asks the same house as looking ahead, not only the casks that are under."""
    then, now = (falls_under(house(since), 40.0, months=48) for since in (0.0, 3.0))
    assert then.expected[0] < 12.0
    assert now.expected[0] == pytest.approx(then.expected[0] - 36.0, abs=1.0)
    assert now.earliest[0] == pytest.approx(then.earliest[0] - 36.0, abs=1.0)
    assert not np.isfinite(now.expected[1:]).any()
