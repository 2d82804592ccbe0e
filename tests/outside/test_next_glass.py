"""What a glass is worth, and power before one is poured, against closed forms elsewhere."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.integrate
import scipy.stats
from statsmodels.stats.power import FTestPower, TTestPower

from analysis.next_glasses.power_exact import power_of_difference, power_of_samples
from analysis.next_glasses.power_result import Design, PanelAs
from analysis.next_glasses.power_said import said_of_two
from analysis.next_glasses.value import f, knowledge_gradient, loss_of


def by_quadrature(means: np.ndarray, place: int, sd: float) -> float:
    """``E max_i mu_i' - max_i mu_i`` where the mean of one alternative moves by N(0, sd^2)."""
    best, others = means.max(), np.delete(means, place).max()

    def integrand(z: float) -> float:
        density = np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi)
        return float(max(means[place] + sd * z, others) - best) * float(density)

    bend = (others - means[place]) / sd
    parts = [(-12.0, bend), (bend, 12.0)] if abs(bend) < 12.0 else [(-12.0, 12.0)]
    return float(sum(scipy.integrate.quad(integrand, *part, epsabs=1e-13)[0] for part in parts))


@pytest.mark.parametrize(("apart", "sd"), [(0.0, 1.0), (0.7, 2.3), (4.0, 1.5), (-2.0, 0.8)])
def test_the_knowledge_gradient_of_two_alternatives(apart: float, sd: float) -> None:
    """Gupta & Miescke 1996, J Stat Plan Inference 54:229; Frazier, Powell & Dayanik 2009.

    The formula for independent beliefs (section 4 of the latter) from memory; the number it is
    held against is the integral that it solves.
    """
    means = np.array([50.0, 50.0 + apart])
    for place in (0, 1):
        found = knowledge_gradient(means, place, sd)
        assert found == pytest.approx(by_quadrature(means, place, sd), abs=1e-9)
        assert found == pytest.approx(sd * float(f(np.array(-abs(apart) / sd))), abs=1e-12)


def test_the_knowledge_gradient_of_many_alternatives() -> None:
    """The same of nine, each measured in turn: only the best of the others matters."""
    rng = np.random.default_rng(4)
    means, sds = rng.normal(40.0, 6.0, 9), rng.uniform(0.5, 6.0, 9)
    for place, sd in enumerate(sds):
        found = knowledge_gradient(means, place, float(sd))
        assert found == pytest.approx(by_quadrature(means, place, float(sd)), abs=1e-9)


def test_the_loss_of_deciding_now_is_the_integral_that_it_stands_for() -> None:
    """``E max(N(-d, s^2), 0)``, the linear loss of a choice of two (Chick & Inoue 2001)."""
    for distance, sd in ((0.0, 2.0), (1.0, 2.0), (6.0, 2.0)):

        def integrand(x: float, d: float = distance, s: float = sd) -> float:
            return x * float(scipy.stats.norm.pdf(x, -d, s))

        expected = scipy.integrate.quad(integrand, 0.0, 30.0, epsabs=1e-13)[0]
        found = loss_of(np.array(distance), np.array(sd))
        assert float(found) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("assessors", [4, 8, 14])
@pytest.mark.parametrize("points", [3.0, 10.0])
def test_power_of_a_difference_equals_statsmodels_and_scipy(assessors: int, points: float) -> None:
    variance = 62.0
    found = power_of_difference(points, variance, assessors)
    theirs = TTestPower().power(points / np.sqrt(2.0 * variance), assessors, 0.05)
    assert found == pytest.approx(float(theirs), abs=1e-6)
    df, off = assessors - 1, points * np.sqrt(assessors / (2.0 * variance))
    end = scipy.stats.t.ppf(0.975, df)
    theirs = scipy.stats.nct.sf(end, df, off) + scipy.stats.nct.cdf(-end, df, off)
    assert found == pytest.approx(float(theirs), abs=1e-6)


def test_power_of_samples_equals_statsmodels() -> None:
    """Their noncentrality is ``f^2 (df_denom + df_num + 1)``, with the names of both exchanged."""
    levels, variance, people = np.array([40.0, 44.0, 51.0, 45.0]), 90.0, 7
    first, second = 3, 3 * (people - 1)
    off = people * float(np.sum((levels - levels.mean()) ** 2)) / variance
    size = np.sqrt(off / (first + second + 1))
    theirs = FTestPower().power(size, df_num=second, df_denom=first, alpha=0.05, ncc=1)
    assert power_of_samples(levels.tolist(), variance, people) == pytest.approx(theirs, abs=1e-6)


def beyond_t(points: float, tolerance: float, sides: tuple[float, float], se: float) -> float:
    """Power of a t test with ``df, end``, held against both sides of a tolerance."""
    df, end = sides
    away = ((points - tolerance) / se, (-points - tolerance) / se)
    return float(np.nansum([scipy.stats.nct.sf(end, df, off) for off in away]))


@pytest.mark.parametrize(("people", "samples"), [(2, 6), (3, 4), (6, 6), (10, 3)])
def test_of_people_who_read_alike_what_is_said_after_a_session_is_exact(
    people: int, samples: int
) -> None:
    """In one session the error of all samples has ``(J - 1)(k - 1)`` degrees of freedom."""
    said = said_of_two(PanelAs("smoke", (1.0,), (80.0,), 9.0, 81.0), Design(people, samples, 1))
    df, se = (people - 1) * (samples - 1), np.sqrt(2.0 * 89.0 / people)
    for points in (0.0, 10.0, 20.0, 30.0):
        found, error = said.found(points, 50.0)
        end = scipy.stats.t.ppf(0.975, df)
        assert abs(found - beyond_t(points, 0.0, (df, end), se)) < 4.0 * error + 1e-6
        assert found == pytest.approx(
            power_of_difference(points, 89.0, people, df=df), abs=4.0 * error + 1e-6
        )
        apart, error = said.apart(points, 10.0)
        end = scipy.stats.t.ppf(0.95, df)
        assert abs(apart - beyond_t(points, 10.0, (df, end), se)) < 4.0 * error + 1e-6


def test_power_by_the_error_of_all_samples_equals_statsmodels() -> None:
    """Theirs for a regression coefficient is an F of one degree of freedom and so many below."""
    people, samples, variance, points = 5, 6, 70.0, 14.0
    df = (people - 1) * (samples - 1)
    size = points / np.sqrt(2.0 * variance / people) / np.sqrt(df + 2)
    theirs = FTestPower().power(size, df_num=df, df_denom=1, alpha=0.05, ncc=1)
    assert power_of_difference(points, variance, people, df=df) == pytest.approx(theirs, abs=1e-6)
