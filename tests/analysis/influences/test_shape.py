"""A note that rises and falls again is found out; one that levels off is not."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.influences import fit_readings
from analysis.influences.shape import check_shape
from tests.houses.casks import Casks


@pytest.mark.slow
def test_the_check_has_its_level() -> None:
    """Under the right curve it doubts one time in a hundred (chi-squared, normal residuals)."""
    rng = np.random.default_rng(1)
    ages = rng.uniform(2.0, 15.0, 80)
    found = [check_shape(ages, rng.normal(size=80), np.ones(80)) for _ in range(2000)]
    assert np.mean([shape.note is not None for shape in found]) == pytest.approx(0.01, abs=0.007)
    assert np.mean([(shape.p or 0.0) < 0.5 for shape in found]) == pytest.approx(0.5, abs=0.05)


def test_a_note_that_rises_and_falls_is_doubted() -> None:
    made = Casks(n=120)
    draws = made.draws()
    draws["slate"] += 18.0 * np.exp(-(((draws["age_years"] - 9.0) / 2.0) ** 2))
    draws["slate"] -= 12.0 * np.exp(-(((draws["age_years"] - 15.0) / 2.0) ** 2))
    fits = fit_readings(made.readings(draws), draws, descriptors=["slate", "custard"]).fits
    shapes = {fit.note.descriptor: fit.shape for fit in fits}
    assert shapes["custard"].note is None
    assert shapes["slate"].note is not None
    assert "higher than it at" in shapes["slate"].note


def test_few_draws_are_not_judged() -> None:
    assert check_shape(np.ones(10), np.ones(10), np.ones(10)).p is None
