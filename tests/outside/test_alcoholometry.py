"""Strength arithmetic against OIML R 22 (1975) and tables that do not come from it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from analysis.strength import (
    ETHANOL_DENSITY_20_KG_M3,
    WATER_DENSITY_20_KG_M3,
    Part,
    abv_from_density,
    abv_from_mass_fraction,
    alcoholometer_strength,
    bottles_from,
    density_from_abv,
    density_kg_m3,
    density_meter_strength,
    evaporation,
    litres_at_20,
    litres_of_pure_alcohol,
    mass_fraction_from_abv,
    nosing_water,
    reduce_strength,
    vat,
    weigh_in_air,
)

# Where each part of the table comes from stands in its "source".
TABLE: dict[str, Any] = json.loads(
    Path(__file__).with_name("alcoholometry_r22.json").read_text("utf-8")
)


@pytest.mark.parametrize(("abv", "density"), TABLE["published"].items())
def test_published_densities_at_20_c(abv: str, density: float) -> None:
    # European Pharmacopoeia alcoholimetric tables (2 decimals), quoted second-hand.
    assert density_from_abv(float(abv)) == pytest.approx(density, abs=0.0051)


def test_every_density_at_20_c() -> None:
    # OIML R 22 (1975), formula evaluated by other code.
    for abv, (density, mass_percent) in TABLE["by_abv_20"].items():
        assert density_from_abv(float(abv)) == pytest.approx(density, abs=1e-4), abv
        assert 100 * mass_fraction_from_abv(float(abv)) == pytest.approx(mass_percent, abs=1e-4)


def test_every_density_by_temperature() -> None:
    # OIML R 22 (1975), formula evaluated by other code; both ways.
    for temperature, row in TABLE["by_temperature"].items():
        for abv, density in row.items():
            t = float(temperature)
            assert density_from_abv(float(abv), t) == pytest.approx(density, abs=1e-4)
            if 0 < float(abv) < 100:
                assert abv_from_density(density, t) == pytest.approx(float(abv), abs=1e-3)


def test_water_by_temperature() -> None:
    # OIML R 22 (1975), formula evaluated by other code.
    for temperature, density in TABLE["water"].items():
        assert density_kg_m3(0.0, float(temperature)) == pytest.approx(density, abs=1e-4)


def test_pure_liquids() -> None:
    # OIML R 22 (1975).
    assert pytest.approx(998.20123, abs=1e-9) == WATER_DENSITY_20_KG_M3
    assert pytest.approx(789.2391, abs=1e-4) == ETHANOL_DENSITY_20_KG_M3


@pytest.mark.parametrize(
    ("mass_fraction", "temperature", "grams_per_ml"),
    [(0.50, 20, 0.91384), (0.45, 10, 0.93226), (0.60, 40, 0.87417)],
)
def test_table_by_weight_older_than_the_formula(
    mass_fraction: float, temperature: float, grams_per_ml: float
) -> None:
    # National Bureau of Standards table by weight (before R 22, other measurements).
    density = density_kg_m3(mass_fraction, temperature)
    assert density / 1000 == pytest.approx(grams_per_ml, abs=8e-5)


@pytest.mark.parametrize(("abv", "row"), TABLE["usp_60_f"].items())
def test_pharmacopoeia_at_60_f(abv: str, row: list[float]) -> None:
    # USP 29 alcoholometric table (after NBS Bulletin 9:424), 15.56 °C; figures in 2 and 4
    # decimals. Its % vol is at 15.56 °C too, so it is built here from densities.
    weight_percent, gravity = row
    at = (60 - 32) / 1.8
    density = density_kg_m3(weight_percent / 100, at)
    volume_percent = weight_percent * density / density_kg_m3(1.0, at)
    assert volume_percent == pytest.approx(float(abv), abs=0.01)
    assert density / density_kg_m3(0.0, at) == pytest.approx(gravity, abs=8e-5)


def test_proof_spirit() -> None:
    # Alcoholic Liquor Duties Act 1979 s.2(2) as enacted: at 51 °F it weighs 12/13 of an
    # equal volume of water; commonly quoted as 57.15 % vol.
    at = (51 - 32) / 1.8
    assert abv_from_density(12 / 13 * density_kg_m3(0.0, at), at) == pytest.approx(57.15, abs=0.01)


def test_half_and_half_shrinks() -> None:
    # Textbook: 50 mL ethanol and 50 mL water make 96 to 97 mL; by R 22 it is 96.46.
    vatting = vat([Part(50, 100), Part(50, 0)])
    assert vatting.bulk_litres == pytest.approx(96.4627, abs=1e-4)
    assert vatting.abv_percent == pytest.approx(51.8335, abs=1e-4)
    assert vatting.contraction_litres == pytest.approx(3.5373, abs=1e-4)


@pytest.mark.parametrize(
    ("parts", "litres", "abv"),
    [
        ([Part(100, 60), Part(100, 40)], 199.6962, 50.0761),
        ([Part(200, 63.5), Part(250, 55.2)], 449.9092, 58.9008),
        ([Part(52.5, 100), Part(47.5, 0)], 96.4542, 54.43),
        ([Part(100, 63.5), Part(100, 50)], 199.886, 56.782),
    ],
)
def test_mixtures(parts: list[Part], litres: float, abv: float) -> None:
    # OIML R 22 (1975), formula evaluated by other code.
    vatting = vat(parts)
    assert vatting.bulk_litres == pytest.approx(litres, abs=6e-4)
    assert vatting.abv_percent == pytest.approx(abv, abs=6e-4)


def test_published_dilution_of_80_percent() -> None:
    # A public page on contraction: 1 L of 80 % and 1 L of water make 1.96 L of 40.8 %.
    vatting = vat([Part(1, 80), Part(1, 0)])
    assert vatting.bulk_litres == pytest.approx(1.96, abs=0.005)
    assert vatting.abv_percent == pytest.approx(40.8, abs=0.05)


@pytest.mark.parametrize(("title", "row"), TABLE["dilution"].items())
def test_dilutions(title: str, row: dict[str, float]) -> None:
    # OIML R 22 (1975), formula evaluated by other code; titles read "100 L of 60% -> 40%".
    litres, start = title.split(" L of ")
    from_abv, to_abv = start.split(" -> ")
    reduction = reduce_strength(
        float(litres), float(from_abv.rstrip("%")), float(to_abv.rstrip("%"))
    )
    assert reduction.water_litres == pytest.approx(row["water_L"], abs=6e-5)
    assert reduction.final_litres == pytest.approx(row["final_L"], abs=6e-5)
    assert reduction.contraction_litres == pytest.approx(row["contraction_L"], abs=6e-5)


@pytest.mark.parametrize(
    ("from_abv", "to_abv", "water", "final"),
    [
        (63.5, 20, 219.38, 317.5),
        (58, 20, 191.32, 290.0),
        (60, 46, 31.46, 130.43),
        (58, 46, 26.93, 126.09),
        (63.5, 46, 39.40, 138.04),
    ],
)
def test_reducing_100_litres(from_abv: float, to_abv: float, water: float, final: float) -> None:
    # Worked out with OIML R 22 (1975) apart from this code.
    reduction = reduce_strength(100, from_abv, to_abv)
    assert reduction.water_litres == pytest.approx(water, abs=0.0051)
    assert reduction.final_litres == pytest.approx(final, abs=0.0051)


def test_nosing_strength() -> None:
    # Worked out with OIML R 22 (1975) apart from this code.
    assert nosing_water(20, 58).water_ml == pytest.approx(38.26, abs=0.0051)


@pytest.mark.parametrize(("at", "true"), [(15, 61.73), (10, 63.42), (25, 58.24)])
def test_glass_alcoholometer_that_reads_60(at: float, true: float) -> None:
    # OIML R 22 (1975) with soda-lime glass (25e-6/K), worked out apart from this code.
    assert alcoholometer_strength(60, at) == pytest.approx(true, abs=0.0051)


def test_density_meter_that_shows_60_at_15_c() -> None:
    # OIML R 22 (1975) without a glass term, worked out apart from this code.
    assert density_meter_strength(60, 15) == pytest.approx(61.78, abs=0.0051)


@pytest.mark.parametrize(("title", "apparent"), TABLE["apparent_strength"].items())
def test_apparent_strength_without_glass(title: str, apparent: float) -> None:
    # OIML R 22 (1975), an ideal float: titles read "true 40% at 15C".
    true, at = title.removeprefix("true ").removesuffix("C").split("% at ")
    assert abv_from_density(density_from_abv(float(true), float(at))) == pytest.approx(
        apparent, abs=1e-3
    )
    assert density_meter_strength(apparent, float(at)) == pytest.approx(float(true), abs=1e-3)


@pytest.mark.parametrize(
    ("litres", "abv", "at", "at_20"), [(200, 60, 10, 201.74), (250, 58, 8, 252.56)]
)
def test_volume_at_20_c(litres: float, abv: float, at: float, at_20: float) -> None:
    # OIML R 22 (1975), worked out apart from this code.
    assert litres_at_20(litres, abv, at) == pytest.approx(at_20, abs=0.0051)


def test_gauging_by_weight() -> None:
    # OIML R 22 (1975), conventional air and weights, worked out apart from this code.
    weighing = weigh_in_air(180.0, 58.0)
    assert weighing.litres == pytest.approx(197.27, abs=0.0051)
    assert weighing.lpa == pytest.approx(114.42, abs=0.0051)


def test_four_casks_to_bottles() -> None:
    # OIML R 22 (1975), worked out apart from this code.
    vatting = vat([Part(190, 57.1), Part(185, 58.9), Part(178, 56.4), Part(480, 59.6)])
    assert vatting.lpa == pytest.approx(603.927, abs=5e-4)
    assert vatting.bulk_litres == pytest.approx(1032.979, abs=5e-4)
    assert vatting.abv_percent == pytest.approx(58.4646, abs=5e-5)
    reduction = reduce_strength(vatting.bulk_litres, vatting.abv_percent, 46)
    assert reduction.water_litres == pytest.approx(289.05, abs=0.0051)
    assert reduction.final_litres == pytest.approx(1312.88, abs=0.0051)
    assert bottles_from(reduction.final_litres, 700, 0.015).bottles == 1847


def test_ten_years_in_wood() -> None:
    # Arithmetic of a worked example: 200 L at 63.5 % become 168 L at 58.2 %.
    loss = evaporation(200, 63.5, 168, 58.2, 10)
    assert loss.start_lpa == pytest.approx(127.0)
    assert loss.end_lpa == pytest.approx(97.776)
    assert loss.remaining_percent_of_lpa == pytest.approx(77.0, abs=0.05)
    assert loss.lpa_percent_a_year_compound == pytest.approx(2.58, abs=0.0051)
    assert loss.lpa_percent_a_year_simple == pytest.approx(2.30, abs=0.0051)


def test_pure_alcohol_of_a_case() -> None:
    # HMRC internal manual HMEXSH5030: 12 x 0.70 L at 40 % = 8.4 L bulk = 3.36 LPA.
    assert litres_of_pure_alcohol(12 * 0.70, 40) == pytest.approx(3.36)


def test_mass_and_volume_definition() -> None:
    # OIML R 22 (1975): 40 % vol is 33.300 % by mass.
    assert abv_from_mass_fraction(0.333) == pytest.approx(40.0, abs=0.001)
