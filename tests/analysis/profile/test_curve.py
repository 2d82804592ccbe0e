"""From what a panel feels to its expected score, against numerical integration."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from analysis.profile.curve import Curve, _wider, curve_of, expected, slope
from analysis.profile.system import System
from analysis.profile.terms import ASSESSOR_SAMPLE, ASSESSOR_SESSION, SESSION
from tests.analysis.profile.dense import RATIOS, World


@pytest.mark.parametrize("mean", [-25.0, -4.0, 0.5, 3.0, 50.0, 97.0, 120.0])
@pytest.mark.parametrize(("sd", "cut"), [(3.0, 0.5), (9.0, 7.5)])
def test_the_expected_score(mean: float, sd: float, cut: float) -> None:
    inner = quad(
        lambda y: y * norm.pdf(y, mean, sd), cut, 100.0, points=[min(max(mean, cut), 100.0)]
    )[0]
    wanted = inner + 100.0 * norm.sf(100.0, mean, sd)
    found = expected(np.array([mean]), np.array([sd**2]), np.array([cut]))
    assert found[0] == pytest.approx(wanted, abs=1e-6)


@pytest.mark.parametrize("mean", [-10.0, 0.0, 6.0, 98.0])
def test_its_slope(mean: float) -> None:
    at = np.array([mean - 1e-4, mean + 1e-4])
    below, above = expected(at, np.full(2, 25.0), np.array([4.5]))
    found = slope(np.array([mean]), np.array([25.0]), np.array([4.5]))
    assert found[0] == pytest.approx((above - below) / 2e-4, abs=1e-6)


def curve(step: float = 1.0, wider: float = 0.0) -> Curve:
    """Two samples, three people: one who writes much, one with a high threshold."""
    felt = np.array([[2.0, -6.0, -2.0], [30.0, 20.0, 25.0]])
    return Curve(
        at=np.array([-2.0, 25.0]),
        felt=felt,
        slope=np.array([1.3, 0.9, 0.8]),
        variance=np.full((2, 3), 36.0),
        cut=np.array([0.5, 0.5, 6.5]),
        step=step,
        wider=np.full(2, wider),
    )


def test_moments_are_those_over_the_latent_mean() -> None:
    line, z, sd = curve(), np.array([-2.0, 25.0]), np.array([5.0, 4.0])
    mean, spread = line.moments(z, sd)
    for i in range(2):

        def at(x: float, i: int = i) -> float:
            return float(line(np.where(np.arange(2) == i, x, 0.0))[i])

        def weighed(power: int, i: int = i) -> float:
            found: float = quad(
                lambda x: at(x) ** power * norm.pdf(x, z[i], sd[i]),
                z[i] - 10 * sd[i], z[i] + 10 * sd[i], points=[z[i]],
            )[0]  # fmt: skip
            return found

        first, second = weighed(1), weighed(2)
        assert mean[i] == pytest.approx(first, abs=1e-6)
        assert spread[i] == pytest.approx(np.sqrt(second - first**2), abs=1e-5)


def test_a_band_is_the_curve_at_the_quantiles() -> None:
    line, z, sd = curve(), np.array([-2.0, 25.0]), np.array([5.0, 4.0])
    low, high = line.band(z, sd, 0.9)
    # From 0 the whole tenth lies above; else half of it to either side.
    assert high == pytest.approx(line(z + np.array([1.2815516, 1.6448536]) * sd), abs=1e-6)
    assert low[1] == pytest.approx(line(z - 1.6448536 * sd)[1], abs=1e-6)
    assert low[0] == 0.0


def test_a_low_end_of_less_than_half_a_step_is_nothing() -> None:
    z, sd = np.array([3.0, 25.0]), np.array([2.0, 4.0])
    exact = curve()(z - 1.6448536 * sd)[0]
    assert 0.5 < exact < 5.0
    assert curve(step=1.0).band(z, sd, 0.9)[0][0] == pytest.approx(exact, abs=1e-6)
    assert curve(step=10.0).band(z, sd, 0.9)[0][0] == 0.0


def test_opinions_count_in_full_where_one_person_alone_would_write() -> None:
    """Of four, one writes: his opinion moves his own line by as much as it is, not a quarter."""
    alone = np.array([[1.0, 0.0, 0.0, 0.0]])
    everybody = np.ones((1, 4))
    opinion = np.full((1, 4), 9.0)
    assert _wider(alone, np.ones(4), opinion)[0] == pytest.approx(9.0 - 4 * 9.0 / 16)
    assert _wider(everybody, np.ones(4), opinion)[0] == pytest.approx(0.0)


def test_wider_is_wider() -> None:
    z, sd = np.array([-2.0, 25.0]), np.array([5.0, 4.0])
    narrow, wide = curve().band(z, sd, 0.9), curve(wider=16.0).band(z, sd, 0.9)
    assert (wide[1] > narrow[1]).all()
    assert wide[0][1] < narrow[0][1]


@pytest.mark.parametrize("disagreeing", [True, False])
def test_how_far_a_score_strays_from_what_is_felt(disagreeing: bool) -> None:
    """Evening and noise, and of a cell that nobody scored all that people may disagree by."""
    world = World.draw()
    lay, people = world.layout, np.arange(world.layout.glasses.n_assessors)
    ratios = {name: r for name, r in RATIOS.items() if disagreeing or name != ASSESSOR_SAMPLE}
    system = System(lay, world.covariates, ratios, world.scale, world.weight)
    noise = np.linspace(1.0, 2.0, len(people))
    fit = SimpleNamespace(
        problem=SimpleNamespace(layout=lay),
        system=system,
        parameters=SimpleNamespace(ratios=ratios, scale=world.scale, noise=noise),
        solution=system.solve(world.y),
        squares=4.0,
    )
    ends = SimpleNamespace(written=np.full(len(people), 0.5), step=1.0)
    found = curve_of(cast(Any, fit), cast(Any, ends), people, np.zeros(lay.glasses.n_samples))
    dissent = found.variance / 4.0 - RATIOS[SESSION] - RATIOS[ASSESSOR_SESSION] - noise
    unscored = np.ones(dissent.shape, dtype=bool)
    unscored[lay.cell_sample, lay.cell_assessor] = False
    assert unscored.any()
    assert dissent[unscored] == pytest.approx(ratios.get(ASSESSOR_SAMPLE, 0.0))
    assert dissent[lay.cell_sample, lay.cell_assessor] == pytest.approx(system.kappa)
