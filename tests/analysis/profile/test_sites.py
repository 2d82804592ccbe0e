"""Pseudo-scores against numerical integration of what they stand for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from analysis.profile.ends import Ends
from analysis.profile.sites import Fitted, Sites

MEAN, SPREAD, NOISE = 6.0, 7.0, 5.0
"""What is known of the felt value of a glass before its score, and the sd of the noise."""


def at_an_end(cut: float, sign: float) -> tuple[Ends, np.ndarray]:
    within = np.array([False])
    ends = Ends(np.array([0]), np.array([cut]), np.array([sign]), within, np.array([cut]), 1.0)
    return ends, np.array([0.0 if sign > 0 else 100.0])


def settled(ends: Ends, y: np.ndarray, slips: float = 0.0) -> Sites:
    """The site of one glass, refreshed until it stays: the fit's value follows the site."""
    noise = np.array([NOISE**2])
    found = Sites.first(ends, y, noise)
    for _ in range(60):
        precision = 1.0 / SPREAD**2 + found.precision
        value = (MEAN / SPREAD**2 + found.precision * found.score) / precision
        found = found.better(ends, y, Fitted(value, 1.0 / precision, noise), slips, 1.0)
    return found


def integrated(chance: Callable[[float], float]) -> tuple[float, float]:
    """Mean and variance of the felt value given the glass, by quadrature."""

    def of(power: int) -> float:
        found: float = quad(
            lambda f: f**power * norm.pdf(f, MEAN, SPREAD) * chance(f),
            MEAN - 12 * SPREAD, MEAN + 12 * SPREAD, points=[MEAN], epsabs=1e-13, limit=400,
        )[0]  # fmt: skip
        return found

    whole = of(0)
    mean = of(1) / whole
    return mean, of(2) / whole - mean**2


@pytest.mark.parametrize(("cut", "sign"), [(0.5, 1.0), (9.5, 1.0), (-20.0, 1.0), (15.0, -1.0)])
def test_a_glass_at_an_end_does_what_its_likelihood_does(cut: float, sign: float) -> None:
    ends, y = at_an_end(cut, sign)
    site = settled(ends, y)
    mean, variance = integrated(lambda f: float(norm.cdf(sign * (cut - f) / NOISE)))
    precision = 1.0 / SPREAD**2 + site.precision[0]
    value = (MEAN / SPREAD**2 + site.precision[0] * site.score[0]) / precision
    assert value == pytest.approx(mean, abs=1e-6)
    assert 1.0 / precision == pytest.approx(variance, abs=1e-6)


@pytest.mark.parametrize(("cut", "sign"), [(0.5, 1.0), (15.0, -1.0)])
def test_what_it_tells_of_the_noise(cut: float, sign: float) -> None:
    """``E e^2`` given the side on which ``f + e`` lies, f known as before the glass."""
    ends, y = at_an_end(cut, sign)
    site = settled(ends, y)

    def of(power: int) -> float:
        found: float = quad(
            lambda e: e**power
            * norm.pdf(e, 0.0, NOISE)
            * norm.cdf(sign * (cut - MEAN - e) / SPREAD),
            -12 * NOISE, 12 * NOISE, points=[0.0], epsabs=1e-13, limit=400,
        )[0]  # fmt: skip
        return found

    assert site.told[0] == pytest.approx(of(2) / of(0) - NOISE**2, abs=1e-6)


CUTS = np.array([0.5, 4.5, 8.5])


def by_quadrature() -> tuple[float, float]:
    """The same scheme for three zeros of one sample, each moment integrated, one after another."""
    grid = np.linspace(MEAN - 12 * SPREAD, MEAN + 12 * SPREAD, 6_001)
    score, precision = np.zeros(3), np.full(3, 1e-3)
    for k in list(range(3)) * 40:
        known = 1.0 / SPREAD**2 + precision.sum()
        others = known - precision[k]
        mean = MEAN / SPREAD**2 + precision @ score - precision[k] * score[k]
        chance = norm.pdf(grid, mean / others, others**-0.5) * norm.cdf((CUTS[k] - grid) / NOISE)
        chance /= chance.sum()
        centre = chance @ grid
        new = 1.0 / (chance @ (grid - centre) ** 2)
        precision[k] = new - others
        score[k] = (centre * new - mean) / precision[k]
    known = 1.0 / SPREAD**2 + precision.sum()
    return (MEAN / SPREAD**2 + precision @ score) / known, 1.0 / known


def test_several_zeros_of_one_sample_together() -> None:
    """Three people, three cuts; the scheme itself is within 5 % of the integral."""
    ends = Ends(np.arange(3), CUTS, np.ones(3), np.zeros(3, dtype=bool), CUTS, 1.0)
    y, noise = np.zeros(3), np.full(3, NOISE**2)
    found = Sites.first(ends, y, noise)
    for _ in range(100):
        precision = 1.0 / SPREAD**2 + found.precision.sum()
        value = (MEAN / SPREAD**2 + found.precision @ found.score) / precision
        fitted = Fitted(np.full(3, value), np.full(3, 1.0 / precision), noise)
        found = found.better(ends, y, fitted, 0.0, 0.8)
    assert (value, 1.0 / precision) == pytest.approx(by_quadrature(), abs=1e-6)
    mean, variance = integrated(lambda f: float(np.prod(norm.cdf((CUTS - f) / NOISE))))
    assert value == pytest.approx(mean, abs=0.03)
    assert 1.0 / precision == pytest.approx(variance, rel=0.05)


def glasses(y: np.ndarray) -> Ends:
    return Ends.of(y, np.zeros(len(y), dtype=np.intp))


def test_trust_is_the_chance_of_no_slip() -> None:
    """By Bayes: a slip is anything on the line, or what another glass was given."""
    y = np.array([0.0, 0.0, 10.0, 60.0, 12.0, 14.0, 16.0])
    ends = glasses(y)
    value, variance = np.full(7, 9.0), np.full(7, 4.0)
    noise = np.full(7, NOISE**2)
    before = replace(Sites.first(ends, y, noise), precision=np.full(7, 1e-12))
    found = before.better(ends, y, Fitted(value, variance, noise), 0.03, 1.0)
    sd = np.hypot(2.0, NOISE)
    assert ends.written.tolist() == [9.0]
    right = np.where(y == 0.0, norm.cdf((9.0 - value) / sd), norm.pdf(y, value, sd))
    anything = np.where(y == 0.0, 0.5 * ends.step / 100.0, 1.0 / 100.0)
    another = np.where(y == 0.0, 2 / 7, (5 / 7) / 100.0)
    wrong = 0.5 * anything + 0.5 * another
    assert found.trust == pytest.approx(0.97 * right / (0.97 * right + 0.03 * wrong), abs=1e-9)
    assert found.trust[3] < 1e-9 < 0.5 < found.trust[2]
    assert found.precision[2:] == pytest.approx(found.trust[2:] / NOISE**2)


def test_without_slips_every_score_is_trusted() -> None:
    y = np.array([0.0, 10.0, 60.0, 99.0])
    ends, noise = glasses(y), np.full(4, NOISE**2)
    fitted = Fitted(np.full(4, 9.0), np.full(4, 4.0), noise)
    found = Sites.first(ends, y, noise).better(ends, y, fitted, 0.0, 0.8)
    assert found.trust.tolist() == [1.0] * 4
    assert found.score[1:].tolist() == [10.0, 60.0, 99.0]
    assert found.told[1:].tolist() == [0.0] * 3
