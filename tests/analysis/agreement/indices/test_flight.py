"""Alike is said of casks that are alike; rates over many worlds in tests/bench/bench_words.py."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.flight import flight_span, over_visits
from analysis.agreement.indices.layout import ScoreLayout

CELL_SD = 8.0


def said_alike(truth: np.ndarray, n_assessors: int, runs: int = 150) -> float:
    rng = np.random.default_rng(11)
    found = 0
    for _ in range(runs):
        table = truth + rng.normal(0.0, CELL_SD, (n_assessors, len(truth)))
        flight = flight_span(additive(table), 10.0)
        found += flight is not None and flight.alike
    return found / runs


@pytest.mark.slow
def test_one_cask_twelve_off_is_hardly_called_alike() -> None:
    """At most .02; three standard errors above it in 150 runs is .054."""
    truth = np.zeros(12)
    truth[4] = 12.0
    assert said_alike(truth, 12) < 0.054


@pytest.mark.slow
def test_like_casks_are_found_alike_by_a_good_panel() -> None:
    """At least .35 at 12 x 12; three standard errors below it in 150 runs is .23."""
    assert said_alike(np.zeros(12), 12) > 0.23


def test_the_bound_is_above_the_truth() -> None:
    rng = np.random.default_rng(4)
    truth = np.array([0.0, 7.0, 7.0, 7.0, 7.0, 14.0])
    held = 0
    for _ in range(150):
        flight = flight_span(additive(truth + rng.normal(0.0, CELL_SD, (8, 6))), 10.0)
        assert flight is not None
        assert flight.span <= flight.at_most
        held += flight.at_most >= 14.0
    assert held / 150 > 0.91


def test_alike_is_a_bound_below_the_tolerance() -> None:
    rng = np.random.default_rng(6)
    for cell in (2.0, 4.0, 8.0):
        flight = flight_span(additive(rng.normal(40.0, cell, (10, 8))), 10.0)
        assert flight is not None
        assert flight.alike == (flight.at_most < 10.0)


def test_samples_that_nobody_compared_are_not_alike() -> None:
    table = np.full((4, 4), np.nan)
    table[:2, :2], table[2:, 2:] = 40.0, 42.0
    table[0, 0] = 41.0
    assert flight_span(additive(table), 10.0) is None


def test_visits_are_pooled_but_a_lasting_disagreement_stays() -> None:
    rng = np.random.default_rng(9)
    names = tuple(f"P{n}" for n in range(8)), tuple(f"x{n}" for n in range(6))
    i, j = np.indices((8, 6)).reshape(2, -1)
    lasting = rng.normal(0.0, 8.0, (8, 6))
    fresh, same = (
        [
            ScoreLayout(*names, i, j, (part + rng.normal(0.0, sd, (8, 6))).ravel())
            for part, sd in worlds
        ]
        for worlds in ([(0.0 * lasting, 8.0)] * 4, [(lasting, 0.5)] * 4)
    )
    spans = []
    for visits in (fresh, same):
        found = over_visits(visits, names[1])
        assert found is not None
        spans.append(flight_span(found.fit, 10.0, found.error))
        assert found.fit.unit[0, 0] == pytest.approx((1.0 - 1.0 / 6.0) / 32.0)
    assert spans[0] is not None
    assert spans[1] is not None
    assert spans[0].at_most - spans[0].span < spans[1].at_most - spans[1].span


@pytest.mark.slow
def test_two_people_and_two_glasses_call_nothing_alike() -> None:
    """Of casks 12 apart they called 11 in 100 alike, of an error that was small by luck."""
    assert said_alike(np.array([0.0, 12.0]), 2) == 0.0
    assert said_alike(np.zeros(2), 2) == 0.0


@pytest.mark.slow
def test_few_degrees_of_freedom_leave_more_room() -> None:
    """At most .02 of two casks 12 apart; three standard errors above it in 600 runs is .037."""
    assert said_alike(np.array([0.0, 12.0]), 6, 600) < 0.037
    table = np.random.default_rng(2).normal(40.0, 8.0, (6, 6))
    few, many = (flight_span(additive(table), 10.0, (6.0, df)) for df in (6, 600))
    assert few is not None
    assert many is not None
    assert few.at_most > many.at_most
    assert few.span == many.span


def test_a_panel_that_could_hardly_find_it_does_not_say_alike() -> None:
    """Of equal casks it would say so in fewer than one session in six."""
    assert said_alike(np.zeros(6), 5, 60) < said_alike(np.zeros(6), 12, 60)
    coarse = np.random.default_rng(1).normal(0.0, 2.0 * CELL_SD, (40, 6, 6))
    found = [flight_span(additive(table), 10.0) for table in coarse]
    assert not any(part is not None and part.alike for part in found)


def test_means_that_lie_too_near_for_their_errors_are_not_weighed() -> None:
    """Half the panel the other way round: the means are all but equal, the errors are not noise."""
    rng = np.random.default_rng(5)
    truth = np.array([-20.0, -12.0, -4.0, 4.0, 12.0, 20.0])
    table = np.vstack([truth] * 4 + [-truth] * 4) + rng.normal(0.0, 1.0, (8, 6))
    assert flight_span(additive(table), 10.0) is None
    assert flight_span(additive(table[:4]), 10.0) is not None
