"""How much more than its own a cask lost: against generalised least squares written out."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.strength.neighbours import Neighbours, learn
from analysis.strength.unexplained import GaugeSeries, excess_loss
from analysis.strength.yearly import SOAK, SOAK_SD, SOAKS_A_YEAR
from tests.analysis.strength.gauged import between


def learnt(n: int = 60, seed: int = 3) -> Neighbours:
    """Of casks of 250 L that lost two percent a year for twelve, gauged every year."""
    rng = np.random.default_rng(seed)
    cask, begins = np.repeat(np.arange(n), 12), 2010.0 + np.tile(np.arange(12.0), n)
    lost = np.repeat(rng.normal(0.02, 0.003, n), 12) + rng.normal(0.0, 0.007, 12 * n)
    found = between(lost, begins=begins, years=1.0, cask=cask, fresh=False)
    return learn(found, np.zeros(1, dtype=np.bool_))


HOUSE = learnt()


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
        store=np.array([0]),
        on=2010.0 + np.array([years]),
        method=np.zeros((1, len(years)), dtype=np.intp),
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
    found = excess_loss(series(kept(years, 0.03, 6.0), years), HOUSE, back=back).at(0)
    mean, spread = (float(each[0]) for each in HOUSE.own_loss(np.zeros(1, int), np.full(1, 250.0)))
    t = np.array(years[1:])
    days = np.array([2010.0 + each for each in years])
    took = HOUSE.paces.took(np.zeros(4, int), np.full(4, 2010.0), days)[1:]
    soaked = -np.expm1(-SOAKS_A_YEAR * t)
    covariance = 0.006**2 * (np.eye(3) + 1.0)
    covariance += SOAK_SD**2 * np.outer(soaked, soaked) + spread * np.outer(took, took)
    design = np.maximum(t - years[-1 - back], 0.0)
    short = -np.log(kept(years, 0.03, 6.0)[1:]) - SOAK * soaked - mean * took
    weight = np.linalg.solve(covariance, design)
    more = weight @ short / (weight @ design)
    assert found.more_percent_a_year == pytest.approx(100.0 * -np.expm1(-more))
    start, end = (np.array([days[at]]) for at in (-1 - back, -1))
    # What the last years took from all casks is not known either.
    years_unknown = mean**2 * HOUSE.paces.took_variance(np.zeros(1, int), start, end)[0]
    variance = 1.0 / (weight @ design) + years_unknown / (years[-1] - years[-1 - back]) ** 2
    assert found.apart == pytest.approx(more / np.sqrt(variance))


def test_a_steady_cask_is_not_said_to_lose_and_a_leak_is() -> None:
    years = [0.0, 3.0, 6.0, 9.0]
    steady = excess_loss(series(kept(years), years), HOUSE).at(0)
    assert abs(steady.apart) < 1.0
    leak = excess_loss(series(kept(years, 0.03, 6.0), years), HOUSE).at(0)
    assert leak.apart > leak.needed
    assert leak.more_percent_a_year == pytest.approx(3.0, abs=0.4)
    assert leak.own_percent_a_year == pytest.approx(2.0, abs=0.4)


def test_a_loss_that_is_known_of_is_not_told_again_and_a_new_one_is() -> None:
    years = [0.0, 3.0, 6.0, 9.0]
    left = kept(years)
    once = [left[0], left[1], 0.8 * left[2], 0.8 * left[3]]
    # Were it not known of, the cask would seem to lose by itself what it lost at once.
    assert excess_loss(series(once, years), HOUSE).at(0).own_percent_a_year > 3.0
    told = excess_loss(series(once, years, step=2), HOUSE).at(0)
    assert abs(told.apart) < 1.0
    again = [*once[:3], 0.9 * once[3]]
    found = excess_loss(series(again, years, step=2), HOUSE).at(0)
    assert found.apart > found.needed


def test_where_there_is_no_such_gauge_nothing_is_said() -> None:
    years = [0.0, 3.0]
    found = excess_loss(series(kept(years), years), HOUSE, back=2).at(0)
    assert found.apart == -np.inf


def test_the_less_is_known_of_its_own_loss_the_more_is_needed() -> None:
    young, old = [0.0, 3.0], [0.0, 3.0, 6.0, 9.0, 12.0]
    first = excess_loss(series(kept(young), young), HOUSE).at(0)
    later = excess_loss(series(kept(old), old), HOUSE).at(0)
    assert first.needed > later.needed
