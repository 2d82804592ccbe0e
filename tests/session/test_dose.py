"""Ethanol, caps, minutes and cautions."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.as_json import as_json
from panel.session.dose import (
    CAUTIONS,
    DoseError,
    DoseLimits,
    FlightTime,
    Intake,
    Pour,
    counted_grams,
    ethanol_grams,
    flight_minutes,
    flight_pause_seconds,
    may_serve,
    session_dose,
)


def test_grams_of_a_glass() -> None:
    # Arithmetic with the density of ethanol (OIML R 22, 1975): 0.78924 g/mL.
    assert ethanol_grams(10, 20) == pytest.approx(1.578, abs=5e-4)
    # A UK unit is 10 mL, quoted as 8 g (NHS): 25 mL of 40 % is one.
    assert ethanol_grams(25, 40) == pytest.approx(7.8924)


def test_eight_glasses_swallowed() -> None:
    dose = session_dose([Pour(10, 20)] * 8)
    assert dose.swallowed_grams == pytest.approx(12.6, abs=0.03)
    assert dose.swallowed_grams / 8 == pytest.approx(1.58, abs=0.005)
    assert dose.spat_grams == pytest.approx(dose.swallowed_grams * 0.2)
    assert dose.nosed_grams == 0.0
    assert as_json(dose).keys() == {"swallowed_grams", "spat_grams", "nosed_grams"}
    assert dose.sentence().startswith("12.6 g of ethanol if all were swallowed, 2.5 g")


@given(st.floats(0, 100), st.floats(0, 100))
def test_what_is_done_decides_what_counts(volume_ml: float, abv: float) -> None:
    pour = Pour(volume_ml, abv)
    nosed, spat, swallowed = (counted_grams(pour, intake) for intake in Intake)
    assert nosed == 0.0 <= spat <= swallowed
    assert counted_grams(pour, Intake.SPAT, DoseLimits(spat_share=1)) == swallowed


def test_the_next_glass_is_stopped_not_only_warned_of() -> None:
    assert may_serve(0.3, 7.7, 7.7).allowed
    stopped = may_serve(0.4, 7.7, 7.7)
    assert not stopped.allowed
    assert "session to 8.1 g" in stopped.reason
    assert "limit of 8 g" in stopped.reason
    assert "day to 16.2 g" in may_serve(0.4, 1.0, 15.8).reason


def test_rounding_does_not_stop_the_last_glass() -> None:
    assert may_serve(0.1, sum([0.1] * 79), sum([0.1] * 159)).allowed


def test_nosing_is_always_open() -> None:
    assert may_serve(0.0, 50, 50).allowed


def test_limits_are_settings() -> None:
    assert not may_serve(1, 4, 4, DoseLimits(session_grams=4.5)).allowed
    assert may_serve(1, 9, 9, DoseLimits(session_grams=12)).allowed


def test_one_pause_for_the_whole_flight() -> None:
    assert flight_pause_seconds([0, 2, 3]) == 60
    assert flight_pause_seconds([0, 2, 14.9]) == 60
    assert flight_pause_seconds([0, 2, 15]) == 180
    assert flight_pause_seconds([]) == 60
    assert flight_pause_seconds([20], FlightTime(smoky_from_ppm=25)) == 60


def test_minutes_of_a_flight() -> None:
    # 8 glasses x 10 lines x 8 s and 7 pauses.
    assert flight_minutes([1.0] * 8, 10) == pytest.approx((640 + 7 * 60) / 60)
    assert flight_minutes([1.0] * 7 + [40.0], 10) == pytest.approx((640 + 7 * 180) / 60)
    assert flight_minutes([], 10) == 0.0
    assert flight_minutes([1.0], 10, FlightTime(seconds_a_descriptor=6)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("volume_ml", "abv"), [(-1, 20), (math.nan, 20), (10, -1), (10, 101), (math.inf, 20)]
)
def test_impossible_glasses_are_refused(volume_ml: float, abv: float) -> None:
    with pytest.raises(DoseError, match="check the figure"):
        ethanol_grams(volume_ml, abv)


def test_impossible_sums_are_refused() -> None:
    for grams in ((-1, 0, 0), (0, math.nan, 0), (0, 0, -1)):
        with pytest.raises(DoseError, match="check the figure"):
            may_serve(*grams)
    with pytest.raises(DoseError, match="Malt phenols"):
        flight_pause_seconds([-1])


def test_cautions_say_the_usual() -> None:
    text = " ".join(CAUTIONS).lower()
    for word in ("drive", "spit", "water", "without a reason", "fire", "local codes", "licensed"):
        assert word in text
