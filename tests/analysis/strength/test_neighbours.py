"""What casks lose beside their neighbours: found again where it was put in."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats

from analysis.strength.medians import lower_spread, middle
from analysis.strength.neighbours import learn
from analysis.strength.yearly import COOL
from tests.analysis.strength.gauged import between

COOL_ONE, COOL_TWO = (np.zeros(n, dtype=np.bool_) for n in (1, 2))


def test_medians_are_those_of_scipy() -> None:
    # scipy.stats.median_abs_deviation, scaled to a normal; a weight of two is a value told twice.
    rng = np.random.default_rng(1)
    values = rng.normal(size=31)
    one = np.ones(31)
    assert middle(values, one) == np.median(values)
    below = np.median(values) - values[values <= np.median(values)]
    # About 0 both ways: what lies above the median plays no part.
    wanted = scipy.stats.median_abs_deviation(np.append(below, -below), scale="normal")
    assert lower_spread(values, one) == pytest.approx(wanted, rel=1e-4)
    high = np.where(values > np.median(values), values + 50.0, values)
    assert lower_spread(high, one) == pytest.approx(wanted, rel=1e-4)
    twice = np.where(np.arange(31) < 10, 2.0, 1.0)
    assert middle(values, twice) == np.median(np.append(values, values[:10]))


def test_where_nothing_is_gauged_twice_a_house_loses_as_the_trade_does() -> None:
    found = learn(between(np.zeros(0)), COOL_ONE)
    mean, variance = found.own_loss(np.zeros(1, dtype=np.intp), np.full(1, 250.0))
    assert mean[0] == COOL.alcohol
    assert variance[0] > COOL.alcohol_sd**2


def test_a_store_has_a_loss_of_its_own_and_a_cask_alone_in_one_hardly() -> None:
    rng = np.random.default_rng(2)
    rate = np.concatenate([rng.normal(0.02, 0.003, 80), rng.normal(0.035, 0.006, 40), [0.06]])
    store = np.repeat([0, 1, 2], [80, 40, 1])
    found = learn(between(10.0 * rate, store=store), np.zeros(3, dtype=np.bool_))
    assert found.mean == pytest.approx([0.02, 0.035, 0.027], abs=0.005)
    assert found.mean_sd[2] > 2.0 * found.mean_sd[0]


@pytest.mark.parametrize("leaking", [0, 12])
def test_a_warm_year_is_found_among_leaks(leaking: int) -> None:
    rng = np.random.default_rng(4)
    cask, n = np.repeat(np.arange(200), 6), 1200
    year = np.tile(np.arange(6.0), 200)
    lost = np.repeat(rng.normal(0.02, 0.003, 200), 6) * np.where(year == 4.0, 1.5, 1.0)
    lost += np.where((cask < leaking) & (year >= 4.0), 0.03, 0.0) + rng.normal(0.0, 0.007, n)
    found = learn(between(lost, begins=2010.0 + year, years=1.0, cask=cask, fresh=False), COOL_ONE)
    at, weighed = np.zeros(2, dtype=np.intp), np.ones(2, dtype=np.intp)
    begins = np.array([2012.0, 2014.0])
    low = [found.paces.read_low(weighed, on) for on in (begins, begins + 1.0)]
    usual, warm = found.mean[0] * found.paces.took(at, begins, begins + 1.0) + low[1] - low[0]
    # Whether the year or its round of gauging, nobody can tell where all are gauged at once.
    assert usual == pytest.approx(0.02, abs=0.002)
    assert warm == pytest.approx(0.03, abs=0.002)
    assert found.paces.pace[0, 4] > found.paces.pace[0, 2] + 0.1


def test_small_casks_lose_by_their_records_and_are_doubted_without() -> None:
    rng = np.random.default_rng(5)
    size = np.repeat([250.0, 50.0], [100, 60])
    rate = rng.normal(0.02, 0.003, 160) * (250.0 / size) ** 0.5
    found = learn(between(10.0 * rate, size_litres=size), COOL_ONE)
    assert found.wider(np.array([50.0]))[0] == pytest.approx(5.0**0.5, rel=0.06)
    store, sizes = np.zeros(3, dtype=np.intp), np.array([250.0, 50.0, 8.0])
    mean, variance = found.own_loss(store, sizes)
    relative = variance / mean**2
    assert relative[2] > 2.0 * relative[1]


def test_a_way_of_gauging_errs_by_more_where_the_records_say_so() -> None:
    rng = np.random.default_rng(6)
    cask, begins = np.repeat(np.arange(100), 6), 2010.0 + np.tile(np.arange(6.0), 100)
    read = rng.normal(0.0, 0.02, (100, 7))
    lost = np.repeat(rng.normal(0.02, 0.003, 100), 6) + np.diff(read, axis=1).ravel()
    pairs = between(lost, begins=begins, years=1.0, cask=cask, fresh=False, method=2)
    found = learn(pairs, COOL_ONE)
    assert found.error_factor[2] == pytest.approx(0.02 / 0.005, rel=0.15)
    assert found.error_factor[1] == 1.0
