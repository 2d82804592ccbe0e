"""Evaporation with withdrawals, and the flags on a pair of regauges."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.strength import (
    RegaugeFlag,
    RegaugeLimits,
    Withdrawal,
    check_regauge,
    evaporation,
    litres_of_pure_alcohol,
    ullage_litres,
    years_until_abv,
)


@settings(deadline=None)
@given(st.floats(0.1, 12), st.floats(0.5, 40), st.floats(0.05, 0.95), st.floats(0.05, 0.9))
def test_a_dated_withdrawal_leaves_the_rate_alone(
    percent: float, years: float, when: float, share: float
) -> None:
    """A cask that loses a steady share loses that share, whatever is drawn and when."""
    keep = 1 - percent / 100
    at = when * years
    litres_then = 200 * keep**at
    drawn = share * litres_then
    left = (litres_then - drawn) * keep ** (years - at)
    loss = evaporation(200, 60, left, 60, years, [Withdrawal(drawn, 60, at)])
    assert loss.lpa_percent_a_year_compound == pytest.approx(percent, abs=1e-6)
    assert loss.bulk_percent_a_year_compound == pytest.approx(percent, abs=1e-6)


def test_a_gain_is_a_negative_loss() -> None:
    assert evaporation(200, 60, 202, 60, 1).lpa_percent_a_year_compound == pytest.approx(-1)
    drawn = evaporation(200, 60, 152, 60, 1, [Withdrawal(50, 60, 0)])
    assert drawn.lpa_percent_a_year_compound == pytest.approx(-4 / 3, abs=1e-6)


def test_an_empty_cask_lost_everything() -> None:
    assert evaporation(200, 60, 0, 0, 5).lpa_percent_a_year_compound == 100.0
    assert evaporation(200, 60, 0, 0, 5).remaining_percent_of_lpa == 0.0


def test_strength_and_volume_go_at_their_own_rates() -> None:
    loss = evaporation(200, 63.5, 168, 58.2, 10)
    assert loss.bulk_percent_a_year_simple == pytest.approx(1.6)
    assert loss.bulk_percent_a_year_compound < loss.lpa_percent_a_year_compound


@pytest.mark.parametrize(
    ("start", "end", "years"), [((0, 60), (10, 60), 1), ((200, 0), (10, 60), 1)]
)
def test_an_empty_start_is_refused(
    start: tuple[float, float], end: tuple[float, float], years: float
) -> None:
    with pytest.raises(InputError, match="first regauge"):
        evaporation(*start, *end, years)


@pytest.mark.parametrize("years", [0.0, -1.0, math.nan])
def test_time_must_pass(years: float) -> None:
    with pytest.raises(InputError, match="Time between"):
        evaporation(200, 60, 190, 60, years)


@pytest.mark.parametrize(
    ("withdrawal", "says"),
    [
        (Withdrawal(250, 60, 1), "Withdrawals come to"),
        (Withdrawal(5, 60, 11), "check its date"),
        (Withdrawal(5, 60, -0.1), "check its date"),
        (Withdrawal(-5, 60, 1), "Withdrawal"),
        (Withdrawal(5, 160, 1), "Strength of a withdrawal"),
    ],
)
def test_impossible_withdrawals_are_refused(withdrawal: Withdrawal, says: str) -> None:
    with pytest.raises(InputError, match=says):
        evaporation(200, 60, 150, 58, 10, [withdrawal])


def test_an_ordinary_cask_has_no_flag() -> None:
    check = check_regauge(200, 63.5, 168, 58.2, 10)
    assert check.flags == ()
    assert check.sentences == ()


def test_a_leak_is_seen() -> None:
    check = check_regauge(200, 63.5, 150, 60, 2)
    assert check.flags == (RegaugeFlag.LEAK,)
    assert "look for a leak" in check.sentences[0]


def test_what_was_drawn_is_no_leak() -> None:
    # Half the cask was taken out just before the second regauge.
    with_it = check_regauge(100, 60, 41.7, 60, 10, [Withdrawal(40, 60, 9.99)])
    assert with_it.flags == ()
    assert check_regauge(100, 60, 41.7, 60, 10).flags == (RegaugeFlag.LEAK,)


def test_wood_that_drinks_is_no_leak() -> None:
    assert check_regauge(200, 63.5, 189, 63.4, 1, after_filling=True).flags == ()
    assert check_regauge(200, 63.5, 189, 63.4, 1).flags == (RegaugeFlag.LEAK,)


def test_a_month_is_judged_with_the_gauging_error() -> None:
    # 0.8 % in a month is 9 % a year, but within what two gauges may differ by.
    assert check_regauge(200, 60, 198.4, 60, 1 / 12).flags == ()
    assert check_regauge(200, 60, 190, 60, 1 / 12).flags == (RegaugeFlag.LEAK,)


def test_a_gain_is_seen() -> None:
    assert check_regauge(200, 60, 202, 60, 1).flags == (RegaugeFlag.GAIN,)
    assert check_regauge(200, 60, 200.5, 60, 1).flags == ()


def test_strength_rises_only_where_it_is_hot() -> None:
    assert check_regauge(200, 60, 190, 61, 2).flags == (RegaugeFlag.STRENGTH_RISES,)
    hot = RegaugeLimits(cool_climate=False, leak_percent_a_year=12)
    assert check_regauge(200, 60, 190, 61, 2, limits=hot).flags == ()


def test_below_the_minimum_is_said() -> None:
    check = check_regauge(200, 41, 180, 39.8, 5)
    assert check.flags == (RegaugeFlag.BELOW_MINIMUM,)
    assert "local law decides" in check.sentences[0]


def test_a_check_becomes_json() -> None:
    answer = json.loads(json.dumps(check_regauge(200, 63.5, 150, 60, 2).to_dict()))
    assert answer["flags"] == ["leak"]
    assert answer["evaporation"]["years"] == 2


def test_years_until_the_floor() -> None:
    assert years_until_abv(50, 45, 10) == pytest.approx(10)
    assert years_until_abv(50, 39, 10) == 0.0
    assert years_until_abv(50, 50, 10) is None
    assert years_until_abv(50, 51, 10) is None


def test_ullage() -> None:
    assert ullage_litres(250, 200) == 50
    assert ullage_litres(190, 200) == -10
    with pytest.raises(InputError, match="Capacity"):
        ullage_litres(0, 10)
    with pytest.raises(InputError, match="Volume"):
        litres_of_pure_alcohol(-1, 40)
