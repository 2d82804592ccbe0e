"""How much more than its own a cask lost: against generalised least squares written out."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.strength.content import SOAK, SOAK_SD, Gauged, losses_of_like
from analysis.strength.unexplained import SOAKS_A_YEAR, GaugeSeries, excess_loss


def house(n: int = 60, seed: int = 3) -> Gauged:
    """Casks of 250 L that lost 1.5 % of litres and 0.5 % of strength a year for ten years."""
    rng = np.random.default_rng(seed)
    rate, fall = rng.normal(0.015, 0.003, n), rng.normal(0.005, 0.001, n)
    one, nothing = np.ones(n), np.zeros(n)
    last = 240.0 * np.exp(-SOAK - 10.0 * rate)
    return Gauged(
        *(63.5 * np.exp(-10.0 * fall), nothing, last, 63.5 * np.exp(-10.0 * fall), 0.004 * one),
        *(nothing, nothing, nothing, nothing),
        *(240.0 * one, 63.5 * one, 0.005 * one, 10.0 * one),
        *(np.ones(n, dtype=np.bool_), 250.0 * one, np.zeros(n, dtype=np.bool_)),
    )


def series(left: list[float], years: list[float], *, step: int | None = None) -> GaugeSeries:
    steps = np.zeros((1, len(years)), dtype=np.bool_)
    if step is not None:
        steps[0, step] = True
    return GaugeSeries(
        years=np.array([years]),
        log_left=np.log(np.array([left])),
        error=np.full((1, len(years)), 0.006),
        steps=steps,
        fresh=np.array([True]),
        size_litres=np.array([250.0]),
        dry=np.array([False]),
    )


def kept(years: list[float], more: float = 0.0, since: float = np.inf) -> list[float]:
    """What is left of a cask that loses two percent a year, and *more* from a year on."""
    return [
        float(np.exp(-SOAK * -np.expm1(-SOAKS_A_YEAR * t) - 0.02 * t - more * max(t - since, 0.0)))
        for t in years
    ]


@pytest.mark.parametrize("back", [1, 2])
def test_the_estimate_is_generalised_least_squares(back: int) -> None:
    # Aitken (1936), written out with one column: the loss that began at a gauge.
    years = [0.0, 3.0, 6.0, 9.0]
    found = excess_loss(series(kept(years, 0.03, 6.0), years), house(), back=back).at(0)
    litres, strength = losses_of_like(house(), dry=False)
    t = np.array(years[1:])
    soaked = -np.expm1(-SOAKS_A_YEAR * t)
    spread = litres.between + litres.mean_sd**2 + strength.between + strength.mean_sd**2
    covariance = 0.006**2 * (np.eye(3) + 1.0)
    covariance += SOAK_SD**2 * np.outer(soaked, soaked) + spread * np.outer(t, t)
    design = np.maximum(t - years[-1 - back], 0.0)
    short = -np.log(kept(years, 0.03, 6.0)[1:]) - SOAK * soaked - (litres.mean + strength.mean) * t
    weight = np.linalg.solve(covariance, design)
    more = weight @ short / (weight @ design)
    assert found.more_percent_a_year == pytest.approx(100.0 * -np.expm1(-more))
    assert found.apart == pytest.approx(more * np.sqrt(weight @ design))


def test_a_steady_cask_is_not_said_to_lose_and_a_leak_is() -> None:
    years = [0.0, 3.0, 6.0, 9.0]
    steady = excess_loss(series(kept(years), years), house()).at(0)
    assert abs(steady.apart) < 1.0
    leak = excess_loss(series(kept(years, 0.03, 6.0), years), house()).at(0)
    assert leak.apart > leak.needed
    assert leak.more_percent_a_year == pytest.approx(3.0, abs=0.4)
    assert leak.own_percent_a_year == pytest.approx(2.0, abs=0.4)


def test_a_loss_that_is_known_of_is_not_told_again_and_a_new_one_is() -> None:
    years = [0.0, 3.0, 6.0, 9.0]
    left = kept(years)
    once = [left[0], left[1], 0.8 * left[2], 0.8 * left[3]]
    # Were it not known of, the cask would seem to lose by itself what it lost at once.
    assert excess_loss(series(once, years), house()).at(0).own_percent_a_year > 3.0
    told = excess_loss(series(once, years, step=2), house()).at(0)
    assert abs(told.apart) < 1.0
    again = [*once[:3], 0.9 * once[3]]
    found = excess_loss(series(again, years, step=2), house()).at(0)
    assert found.apart > found.needed


def test_where_there_is_no_such_gauge_nothing_is_said() -> None:
    years = [0.0, 3.0]
    found = excess_loss(series(kept(years), years), house(), back=2).at(0)
    assert found.apart == -np.inf


def test_the_less_is_known_of_its_own_loss_the_more_is_needed() -> None:
    young, old = [0.0, 3.0], [0.0, 3.0, 6.0, 9.0, 12.0]
    first = excess_loss(series(kept(young), young), house()).at(0)
    later = excess_loss(series(kept(old), old), house()).at(0)
    assert first.needed > later.needed
