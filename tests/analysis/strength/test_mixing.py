"""Reducing, vatting, nosing water and bottles."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.strength import (
    Part,
    bottles_from,
    nosing_water,
    reduce_strength,
    vat,
)
from tests.examples import examples

casks = st.lists(st.builds(Part, st.floats(0.001, 700), st.floats(0, 100)), min_size=1, max_size=12)


@settings(deadline=None, max_examples=examples(50))
@given(casks)
def test_vatting_keeps_alcohol_and_never_swells(parts: list[Part]) -> None:
    vatting = vat(parts)
    assert vatting.bulk_litres * vatting.abv_percent / 100 == pytest.approx(
        vatting.lpa, rel=1e-9, abs=1e-9
    )
    strengths = [part.abv_percent for part in parts]
    assert min(strengths) - 1e-6 <= vatting.abv_percent <= max(strengths) + 1e-6


@settings(deadline=None, max_examples=examples(50))
@given(casks)
def test_order_and_grouping_of_parts_do_not_matter(parts: list[Part]) -> None:
    whole = vat(parts)
    assert vat(parts[::-1]).bulk_litres == pytest.approx(whole.bulk_litres)
    first = vat(parts[:1])
    again = vat([Part(first.bulk_litres, first.abv_percent), *parts[1:]])
    assert again.bulk_litres == pytest.approx(whole.bulk_litres)


@settings(deadline=None, max_examples=examples(50))
@given(st.floats(1, 700), st.floats(20.1, 96), st.floats(5, 20))
def test_reducing_is_vatting_with_water(litres: float, start: float, aim: float) -> None:
    reduction = reduce_strength(litres, start, aim)
    vatting = vat([Part(litres, start), Part(reduction.water_litres, 0)])
    assert vatting.abv_percent == pytest.approx(aim, abs=1e-8)
    assert vatting.bulk_litres == pytest.approx(reduction.final_litres, rel=1e-9)
    assert vatting.contraction_litres == pytest.approx(reduction.contraction_litres, abs=1e-6)


def test_pure_parts_stay_pure() -> None:
    # Sums of shares may round to just above 1, which is no mixture.
    assert vat([Part(0.1, 100)] * 7).abv_percent == pytest.approx(100)
    assert vat([Part(3, 0), Part(7, 0)]).abv_percent == 0.0


def test_same_strength_needs_no_water() -> None:
    reduction = reduce_strength(100, 46, 46)
    assert reduction.water_litres == 0.0
    assert reduction.final_litres == 100.0


def test_a_part_without_litres_changes_nothing() -> None:
    assert vat([Part(100, 60), Part(0, 40)]).abv_percent == pytest.approx(60)


@pytest.mark.parametrize("parts", [[], [Part(0, 60)]])
def test_empty_vatting_is_refused(parts: list[Part]) -> None:
    with pytest.raises(InputError, match="at least one part"):
        vat(parts)


@pytest.mark.parametrize("part", [Part(-1, 60), Part(math.nan, 60), Part(10, 101)])
def test_impossible_part_is_refused(part: Part) -> None:
    with pytest.raises(InputError):
        vat([Part(10, 60), part])


def test_water_does_not_strengthen() -> None:
    with pytest.raises(InputError, match="above the starting strength"):
        reduce_strength(100, 40, 46)
    with pytest.raises(InputError, match="above the starting strength"):
        nosing_water(20, 15)
    with pytest.raises(InputError, match="0 % vol"):
        reduce_strength(100, 40, 0)


@pytest.mark.parametrize("litres", [0, -5, math.nan])
def test_reduction_needs_spirit(litres: float) -> None:
    with pytest.raises(InputError, match="Volume"):
        reduce_strength(litres, 60, 46)


def test_bottles_account_for_every_litre() -> None:
    bottling = bottles_from(500, 700, 0.02)
    assert bottling.bottles == 700
    assert bottling.bottled_litres + bottling.lost_litres + bottling.left_over_litres == (
        pytest.approx(500)
    )


def test_a_volume_of_whole_bottles_loses_none() -> None:
    assert [bottles_from(n * 0.7, 700, 0).bottles for n in range(1, 200)] == list(range(1, 200))


@pytest.mark.parametrize(("litres", "bottle", "loss"), [(0, 700, 0), (1, 0, 0), (1, 700, 1)])
def test_impossible_bottling_is_refused(litres: float, bottle: float, loss: float) -> None:
    with pytest.raises(InputError):
        bottles_from(litres, bottle, loss)


def test_results_become_json() -> None:
    vatting = vat([Part(190, 57.1), Part(185, 58.9)])
    assert json.loads(json.dumps(vatting.to_dict()))["parts"][0] == {
        "litres": 190,
        "abv_percent": 57.1,
    }
    keys = reduce_strength(100, 60, 46).to_dict().keys()
    assert {"water_litres", "final_litres", "contraction_litres", "water_kg"} <= keys
    assert "water_ml" in nosing_water(20, 58).to_dict()
    assert "bottles" in bottles_from(10).to_dict()
