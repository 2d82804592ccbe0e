"""What was read is found again from estimates that were drawn together."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.influences.readings import LEAST_RELIABILITY, Spread, deregress, read_back
from tests.examples import examples
from tests.houses.casks import Casks, profile_of


@settings(deadline=None, max_examples=examples(40))
@given(
    st.lists(st.floats(0.5, 400.0), min_size=1, max_size=4),
    st.floats(0.0, 100.0),
    st.floats(5.0, 100.0),
    st.integers(0, 1000),
)
def test_undoing_the_pull_gives_back_readings_and_noise(
    noise: list[float], fillings: float, draws: float, seed: int
) -> None:
    spread, r = Spread(fillings, draws), np.array(noise)
    z = np.random.default_rng(seed).normal(0.0, 8.0, len(r))
    prior = spread.covariance(len(r))
    posterior = np.linalg.inv(np.linalg.inv(prior) + np.diag(1.0 / r))
    most_noise = prior[0, 0] * (1.0 - LEAST_RELIABILITY) / LEAST_RELIABILITY
    if (np.diag(posterior) > 0.97 * prior[0, 0]).any() or r.max() > most_noise:
        return  # below the least reliability readings are held back on purpose
    group = np.zeros(len(r), dtype=np.intp)
    reading, found = deregress(posterior @ (z / r), np.diag(posterior).copy(), group, spread)
    # Noise far above the others' hardly shows in the posterior: so that is what must come back.
    again = np.linalg.inv(np.linalg.inv(prior) + np.diag(1.0 / found))
    np.testing.assert_allclose(np.diag(again), np.diag(posterior), rtol=1e-6)
    np.testing.assert_allclose(again @ (reading / found), posterior @ (z / r), atol=1e-5)
    if r.max() < 5.0 * draws:
        np.testing.assert_allclose(found, r, rtol=1e-3)
        np.testing.assert_allclose(reading, z, atol=1e-2)


def test_an_estimate_that_says_nothing_keeps_finite_noise() -> None:
    one = np.array([0])
    reading, noise = deregress(np.array([0.1]), np.array([80.0]), one, Spread(0.0, 80.0))
    assert noise[0] == pytest.approx(80.0 * 0.98 / 0.02)
    assert abs(reading[0]) < 6.0


def test_a_profile_is_read_back() -> None:
    made = Casks()
    draws = made.draws()
    readings = made.readings(draws)
    back = read_back(profile_of(draws, readings)).merge(readings, on=["sample", "descriptor"])
    inside = (back["reading_y"] > 3.0) & (back["reading_y"] < 97.0)
    # The mean they were drawn to is known up to its own error only.
    assert (back["reading_x"] - back["reading_y"])[inside].abs().max() < 0.7
    np.testing.assert_allclose(back["noise_variance_x"], back["noise_variance_y"], rtol=1e-4)
