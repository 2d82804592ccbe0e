"""What large panels do otherwise: single precision, and a first look at some of the samples."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.profile import begin, coarse, estimate_profile, parameters
from analysis.profile.moments import Moments
from analysis.profile.predict import predict
from analysis.profile.system import System
from tests.analysis.profile.dense import RATIOS, World
from tests.houses.worlds import Years


def test_single_precision_is_good_to_four_digits() -> None:
    world = World.draw()
    panel = np.array([0, 2, 3])
    double, single = (
        System(world.layout, world.covariates, RATIOS, world.scale, world.weight, single=precise)
        for precise in (False, True)
    )
    assert single.factor.dtype == np.float32
    found, wanted = single.solve(world.y), double.solve(world.y)
    np.testing.assert_allclose(found.tau, wanted.tau, rtol=1e-4, atol=1e-4)
    np.testing.assert_allclose(found.left, wanted.left, rtol=1e-4, atol=1e-3)
    said = predict(Moments(single), found, panel, 2.0)
    exact = predict(Moments(double), wanted, panel, 2.0)
    np.testing.assert_allclose(said.estimate, exact.estimate, rtol=1e-5)
    np.testing.assert_allclose(said.variance, exact.variance, rtol=1e-4)
    assert said.common == pytest.approx(exact.common, rel=1e-3)
    for name, trace in Moments(single).traces().items():
        assert trace == pytest.approx(Moments(double).traces()[name], rel=1e-3)


def test_a_first_look_changes_where_a_fit_starts_not_where_it_ends(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    scores = Years(n_notes=2).draw(5)[0]
    wanted = estimate_profile(scores)
    looks = []
    monkeypatch.setattr(coarse, "WORTH_IT", 20)
    monkeypatch.setattr(coarse, "WANTED", 18)

    def look(problem: parameters.FitProblem) -> parameters.Parameters | None:
        looks.append(coarse.first_look(problem))
        return looks[-1]

    monkeypatch.setattr(begin, "first_look", look)
    found = estimate_profile(scores)
    assert all(start is not None for start in looks)
    off = (found.estimates["estimate"] - wanted.estimates["estimate"]).abs()
    assert (off < 0.1 * wanted.estimates["se"]).all()
    np.testing.assert_allclose(found.estimates["se"], wanted.estimates["se"], rtol=0.05)


def test_single_precision_fits_say_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    scores = Years(n_notes=1).draw(6)[0]
    wanted = estimate_profile(scores).estimates
    monkeypatch.setattr(parameters, "SINGLE_FROM", 10)
    found = estimate_profile(scores).estimates
    np.testing.assert_allclose(found["estimate"], wanted["estimate"], atol=2e-3)
    np.testing.assert_allclose(found["se"], wanted["se"], rtol=1e-3)
