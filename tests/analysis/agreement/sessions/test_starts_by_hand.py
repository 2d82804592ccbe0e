"""Evidence that a level has changed: densities by scipy, steps by least squares of plain numpy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from analysis.agreement.sessions.medians import row_medians
from analysis.agreement.sessions.start_sums import (
    STEP_SD,
    bayes_factor,
    bayes_factor_by,
    clipped,
    contrasts,
    running,
    spread,
    starts,
)

OFF = np.array([0.0, 5.0, -9.0, 30.0])
VARIANCE = np.array([4.0, 25.0, 100.0, 16.0])
SERIES = np.array([1.0, -2.0, 0.5, 3.0, 9.0, 7.5, 8.0, 10.5, 6.0])
ONE, TWO = np.zeros(9, dtype=int), np.array([0, 0, 0, 0, 1, 1, 1, 1, 1])


def test_evidence_is_the_density_with_a_step_over_that_without() -> None:
    """A step is normal about nought: without one the difference has its variance, with one both."""
    wide = VARIANCE + STEP_SD**2
    normal = stats.norm.pdf(OFF, 0.0, np.sqrt(wide)) / stats.norm.pdf(OFF, 0.0, np.sqrt(VARIANCE))
    assert bayes_factor(OFF, VARIANCE) == pytest.approx(normal)
    for df in (3.0, 12.0):
        student = stats.t.pdf(OFF, df, 0.0, np.sqrt(wide)) / stats.t.pdf(
            OFF, df, 0.0, np.sqrt(VARIANCE)
        )
        assert bayes_factor_by(OFF, VARIANCE, df) == pytest.approx(student)
    unknown = np.array([np.inf])
    assert bayes_factor(OFF[1:2], unknown).tolist() == [1.0]
    assert bayes_factor_by(OFF[1:2], unknown, 5.0).tolist() == [1.0]
    far = np.array([1e6])
    assert np.isfinite(bayes_factor(far, np.ones(1))).all()
    assert np.isfinite(bayes_factor_by(far, np.ones(1), 1e5)).all()


def least_squares(level: np.ndarray[Any, Any], at: int) -> tuple[float, float]:
    """The step from session `at` on beside a flat level of each code, and what its variance is."""
    design = np.column_stack([np.arange(9) >= at, np.eye(level.max() + 1)[level]]).astype(float)
    own = np.linalg.inv(design.T @ design)
    return float((own @ design.T @ SERIES)[0]), float(own[0, 0])


@pytest.mark.parametrize("level", [ONE, TWO])
def test_a_step_at_each_start_is_that_of_least_squares(level: np.ndarray[Any, Any]) -> None:
    across, times = contrasts(level)
    for row, at in enumerate(range(1, 9)):
        if level is TWO and at == 4:  # just where another level begins no step is seen
            assert (across[row] == 0.0).all()
            assert np.isinf(times[row])
            continue
        step, variance = least_squares(level, at)
        assert across[row] @ SERIES == pytest.approx(step)
        assert times[row] == pytest.approx(variance)


def test_a_step_is_drawn_towards_none_by_its_prior() -> None:
    """Posterior mean and sd of a normal prior of 8 points and a known variance."""
    sd, lean = 2.0, np.linspace(-1.0, 1.0, 9)[:, None]
    for leaning in (None, lean):
        across, times = contrasts(ONE)
        variance = sd**2 * times
        if leaning is not None:
            variance = variance + (across @ lean)[:, 0] ** 2
        found = starts(SERIES, ONE, sd, leaning)
        assert found.factor == pytest.approx(bayes_factor(across @ SERIES, variance))
        whole = 1.0 / (1.0 / variance + 1.0 / 64.0)
        assert found.step == pytest.approx(whole * (across @ SERIES) / variance)
        assert found.step_sd == pytest.approx(np.sqrt(whole))
        assert found.evidence == pytest.approx(found.factor.sum())
    few = starts(SERIES, ONE, sd, None, 5.0)
    assert few.factor == pytest.approx(bayes_factor_by(across @ SERIES, sd**2 * times, 5.0))
    unseen = starts(SERIES, TWO, sd)
    assert (unseen.factor[3], unseen.step[3]) == (1.0, 0.0)
    assert unseen.step_sd[3] == pytest.approx(8.0)


@pytest.mark.parametrize(("usual", "worth"), [(0.0, 0.0), (9.0, 4.0)])
def test_how_far_a_session_strays_with_the_likeliest_step_taken_out(
    usual: float, worth: float
) -> None:
    left = SERIES - np.where(np.arange(9) >= 4, SERIES[4:].mean(), SERIES[:4].mean())
    squares = float(left @ left)
    found = spread(SERIES, ONE, usual, worth)
    assert found.plain**2 == pytest.approx((squares + worth * usual) / (9 - 3 + worth))
    shown = float(left[1:] @ left[:-1]) / squares + 2.0 / 9.0 - 1.0 / 3.0
    assert found.alike == pytest.approx(max(shown, 0.0))
    assert found.df == 6.0 + worth


def test_what_wanders_strays_further_than_what_does_not() -> None:
    """``(1 + r) / (1 - r)`` for sessions that are alike by r; never by more than 0.8."""
    waves = np.repeat([3.0, -3.0, 3.0, -3.0, 3.0, -3.0], 6)
    found = spread(waves, np.zeros(36, dtype=int))
    assert 0.3 < found.alike <= 0.8
    widened = found.plain**2 * (1.0 + found.alike) / (1.0 - found.alike)
    assert found.sd**2 == pytest.approx(widened)
    flat = spread(np.zeros(9), ONE)
    assert (flat.sd, flat.plain, flat.alike, flat.df) == (0.0, 0.0, 0.0, 6.0)
    assert spread(SERIES[:3], ONE[:3]).df == 1.0
    assert spread(SERIES, TWO).df == 5.0


def test_a_far_session_is_drawn_in_towards_those_around_it_of_its_own_level() -> None:
    value = np.array([0.0, 1.0, 40.0, 2.0, 1.0, 21.0, 20.0, 60.0, 22.0])
    level = np.array([0, 0, 0, 0, 0, 1, 1, 1, 1])
    found = clipped(value, level, 2.0)
    assert found[2] == pytest.approx(1.0 + 5.0)  # the middle of 0, 1, 40, 2 and 1
    assert found[7] == pytest.approx(21.5 + 5.0)  # of 21, 20, 60 and 22
    assert np.delete(found, [2, 7]).tolist() == np.delete(value, [2, 7]).tolist()


def test_evidence_session_by_session_is_that_of_the_sessions_so_far() -> None:
    lean = np.linspace(-1.0, 1.0, 9)[:, None]
    found = running(SERIES, TWO, 2.0, lean, 6.0)
    assert found[0] == 0.0
    for n in range(2, 10):
        part = starts(SERIES[:n], TWO[:n], 2.0, lean[:n], 6.0)
        assert found[n - 1] == pytest.approx(part.evidence)
    assert running(SERIES, ONE, 2.0)[-1] == pytest.approx(starts(SERIES, ONE, 2.0).evidence)


def test_medians_of_rows_are_numpys() -> None:
    table = np.random.default_rng(1).normal(size=(6, 7))
    table[0, 2:4], table[1, 1:], table[2, :4] = np.nan, np.nan, np.nan
    assert row_medians(table) == pytest.approx(np.nanmedian(table, axis=1))
    assert np.isnan(row_medians(np.empty((2, 0)))).all()
