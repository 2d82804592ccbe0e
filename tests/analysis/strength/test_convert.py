"""Strength, share by mass and density: each way and back, and what is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from analysis.errors import AnalysisError, InputError
from analysis.strength import (
    abv_from_density,
    abv_from_mass_fraction,
    alcoholometer_strength,
    density_from_abv,
    density_kg_m3,
    density_meter_strength,
    litres_at_20,
    mass_fraction_from_abv,
    mass_fraction_from_density,
    weigh_in_air,
)

strengths = st.floats(0, 100)
temperatures = st.floats(-20, 40)


@settings(deadline=None)
@given(strengths)
def test_abv_to_mass_and_back(abv: float) -> None:
    assert abv_from_mass_fraction(mass_fraction_from_abv(abv)) == pytest.approx(abv, abs=1e-9)


@settings(deadline=None)
@example(0.9999999999999999, 0.0)  # its density rounds to just below ethanol's
@given(st.floats(0, 1), temperatures)
def test_mass_to_density_and_back(mass_fraction: float, temperature: float) -> None:
    density = density_kg_m3(mass_fraction, temperature)
    # Cold, weak mixtures change little in density: a share by mass is less sharp there.
    assert mass_fraction_from_density(density, temperature) == pytest.approx(
        mass_fraction, abs=1e-8
    )


@settings(deadline=None)
@given(strengths, temperatures)
def test_density_falls_with_strength(abv: float, temperature: float) -> None:
    weaker = max(0.0, abv - 1.0)
    assert density_from_abv(abv, temperature) <= density_from_abv(weaker, temperature)


def test_ends_are_exact() -> None:
    assert mass_fraction_from_abv(0) == 0.0
    assert mass_fraction_from_abv(100) == 1.0
    assert abv_from_density(density_kg_m3(1.0)) == pytest.approx(100.0, abs=1e-9)


@pytest.mark.parametrize("abv", [-0.1, 100.1, math.nan, math.inf])
def test_strength_out_of_range_is_refused(abv: float) -> None:
    with pytest.raises(InputError, match="must lie between 0 and 100 % vol"):
        mass_fraction_from_abv(abv)


@pytest.mark.parametrize("temperature", [-20.1, 40.1, math.nan])
def test_temperature_out_of_range_is_refused(temperature: float) -> None:
    with pytest.raises(InputError, match="between -20 and 40 °C"):
        density_kg_m3(0.5, temperature)
    with pytest.raises(InputError, match="Temperature"):
        alcoholometer_strength(60, temperature)


@pytest.mark.parametrize("density", [0.93, 700.0, 1003.0, math.nan])
def test_density_no_mixture_has_is_refused(density: float) -> None:
    with pytest.raises(InputError, match="check the figure, its unit and the temperature"):
        abv_from_density(density)


def test_errors_are_of_one_tree() -> None:
    assert issubclass(InputError, AnalysisError)


def test_instruments_agree_with_the_truth_at_20_c() -> None:
    assert alcoholometer_strength(58.3, 20) == pytest.approx(58.3, abs=1e-9)
    assert density_meter_strength(58.3, 20) == pytest.approx(58.3, abs=1e-9)
    assert litres_at_20(200, 60, 20) == 200


def test_warm_glass_floats_higher() -> None:
    # Larger when warm, the glass float reads stronger than it should by less than a meter.
    assert alcoholometer_strength(60, 30) > density_meter_strength(60, 30)
    assert alcoholometer_strength(60, 10) < density_meter_strength(60, 10)


@pytest.mark.parametrize("kg", [0.0, -1.0, math.nan, math.inf])
def test_weight_must_be_above_zero(kg: float) -> None:
    with pytest.raises(InputError, match="Net weight"):
        weigh_in_air(kg, 58)


def test_weighing_becomes_json() -> None:
    weighing = weigh_in_air(180, 58)
    assert weighing.to_dict()["lpa"] == pytest.approx(weighing.litres * 0.58)
    assert list(weighing.to_dict()) == ["net_kg_in_air", "abv_percent", "mass_kg", "litres", "lpa"]
