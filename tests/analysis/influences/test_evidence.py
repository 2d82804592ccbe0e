"""Casks of different ages and casks nosed again are kept apart."""

from __future__ import annotations

import pytest

from analysis.influences import Evidence, fit_readings
from tests.houses.casks import Casks


def evidence(made: Casks, descriptor: str, seed: int = 1) -> Evidence:
    draws = made.draws(seed)
    fits = fit_readings(made.readings(draws, seed + 50), draws, descriptors=[descriptor]).fits
    return fits[0].evidence


def test_where_only_age_is_at_work_both_agree() -> None:
    found = evidence(Casks(), "custard")
    assert found.used == "both"
    assert found.again is not None
    assert found.ages is not None
    assert found.again.low < found.ages.high
    assert found.ages.low < found.again.high
    assert found.ages.low > 0.0
    assert f"{found.n_again} of them drawn again" in found.sentence


def test_a_vintage_that_looks_like_age_is_not_believed() -> None:
    """Older casks were better casks, by two points a year: only casks nosed again tell age."""
    made = Casks(vintage=2.0, again=0.7)
    found = evidence(made, "slate")
    assert found.used == "both"
    found = evidence(made, "custard")
    assert found.used == "casks nosed again"
    assert found.ages is not None
    assert found.again is not None
    assert found.ages.low > found.again.high
    assert found.ages.points_a_year - found.again.points_a_year == pytest.approx(2.0, abs=0.6)
    assert "different stories" in found.sentence


def test_without_casks_nosed_again_it_is_said() -> None:
    found = evidence(Casks(again=0.0), "custard")
    assert found.used == "casks of different ages"
    assert found.again is None
    assert found.reason == "0 casks were drawn again: 5 at least"
    assert "may be the vintage" in found.sentence


def test_one_age_tells_nothing() -> None:
    found = evidence(Casks(again=0.0, ages=(6.0, 6.5)), "custard")
    assert found.used == "neither"
    assert found.reason == "all casks were nosed at nearly one age"


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_curves_follow_the_casks_nosed_again(seed: int) -> None:
    """With the vintage of two points a year the growth of a barrel is still what it gives."""
    made = Casks(vintage=2.0, again=0.7)
    draws = made.draws(seed)
    fit = fit_readings(made.readings(draws), draws, descriptors=["custard"]).fits[0]
    assert fit.note.terms.levels.between_mid is not None
    slope = fit.evidence.again
    assert slope is not None
    assert slope.points_a_year < 2.0
