"""Evidence for a step: by integration, and how long a sum goes without a false alarm.

Outside: `scipy.integrate` for one Bayes factor; Pollak (1987), Annals of Statistics 15:749-779, for
the bound: where nothing moves, the sum over all starts runs at least A sessions on the mean before
it passes A.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from analysis.agreement.sessions.start_sums import STEP_SD, contrasts, starts

SD = 5.0
FLAT = np.zeros(7, dtype=int)


def likelihood(value: np.ndarray, late: np.ndarray, step: float) -> float:
    """Of the values over every level before the step, all as likely."""

    def at(level: float) -> float:
        return math.exp(-0.5 * float(np.sum((value - level - step * late) ** 2)) / SD**2)

    return float(quad(at, -60.0, 60.0, points=[float(value.mean())], epsabs=0.0, limit=200)[0])


SLOW = pytest.mark.slow


@pytest.mark.parametrize("start", [3, pytest.param(1, marks=SLOW), pytest.param(6, marks=SLOW)])
def test_a_bayes_factor_is_the_integral_over_level_and_step(start: int) -> None:
    value = np.array([1.0, -3.0, 2.0, 6.0, 9.0, 4.0, 11.0])
    late = (np.arange(7) >= start).astype(float)

    def both(step: float) -> float:
        prior = math.exp(-0.5 * (step / STEP_SD) ** 2) / (STEP_SD * math.sqrt(2.0 * math.pi))
        return likelihood(value, late, step) * prior

    over = quad(both, -60.0, 60.0, points=[0.0, 8.0], epsabs=0.0, epsrel=1e-9, limit=200)[0]
    expected = over / likelihood(value, late, 0.0)
    assert starts(value, FLAT, SD).factor[start - 1] == pytest.approx(expected, rel=1e-6)


def test_where_levels_are_free_a_step_is_the_one_of_least_squares() -> None:
    """numpy's least squares with a column a level and one for the step."""
    rng = np.random.default_rng(2)
    value, level = rng.normal(0.0, 5.0, 9), np.array([0, 0, 0, 0, 1, 1, 1, 1, 1])
    across, times = contrasts(level)
    found = across @ value
    for at in range(1, 9):
        table = np.column_stack([np.eye(2)[level], np.arange(9) >= at]).astype(float)
        if at == 4:
            assert times[at - 1] == np.inf
            continue
        assert found[at - 1] == pytest.approx(np.linalg.lstsq(table, value, rcond=None)[0][2])
        assert times[at - 1] == pytest.approx(np.linalg.inv(table.T @ table)[2, 2])


def runs(limit: float, n: int, seed: int) -> np.ndarray:
    """Sessions until the sum passes the limit, in series in which nothing moves."""
    rng = np.random.default_rng(seed)
    found = []
    for _ in range(n):
        value = list(rng.normal(0.0, SD, 2))
        while starts(np.array(value), np.zeros(len(value), dtype=int), SD).evidence <= limit:
            value.append(float(rng.normal(0.0, SD)))
        found.append(len(value))
    return np.array(found)


def test_a_false_alarm_takes_at_least_the_limit_on_the_mean() -> None:
    took = runs(20.0, 250, 1)
    assert took.mean() + 3.0 * took.std() / np.sqrt(len(took)) >= 20.0
    assert took.mean() < 200.0  # a bound that is never neared would be no check of the sum


def test_the_sum_is_as_many_as_there_are_starts_on_the_mean() -> None:
    """What the bound rests on: each factor is one on the mean while nothing moves."""
    rng = np.random.default_rng(4)
    found = [starts(rng.normal(0.0, SD, 4), FLAT[:4], SD).evidence for _ in range(10_000)]
    error = 3.0 * float(np.std(found)) / np.sqrt(len(found))
    assert np.mean(found) == pytest.approx(3.0, abs=error)
