"""Chances of casks whose house shows that they are not normal."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import scipy.special

from analysis.profile import Profile, estimate_profile
from analysis.profile.bends import Bends
from analysis.profile.shapes import FEWEST, GRID, spread_of
from analysis.target import Target, TargetLine, match_casks
from analysis.target.bent import chance_bent
from analysis.target.candidates import Candidates
from analysis.target.chance import HOPELESS
from analysis.target.match import chance_alone, chance_of_casks
from analysis.target.nearest import _drawn
from tests.bench.match_worlds import Cellar

KNOWN = np.array([[0.3, 0.5], [0.6, 0.7], [0.0, 0.4], [0.9, 0.99]])
PLACE = np.array([[0.8, -0.6], [-1.0, 1.5], [0.0, 0.2], [2.0, 0.5]])
TWO = Target("Two", (TargetLine("smoke", 52.0, 6.0), TargetLine("plum", 40.0, 7.0)))


def bends() -> Bends:
    """A cellar of a long upper tail on one note, of two groups on the other."""
    rng = np.random.default_rng(3)
    sure = np.full(200, 0.9)
    skewed = spread_of(0.9 * (rng.gamma(1.0, 1.0, 200) - 1.0), sure)
    groups = spread_of(0.9 * rng.choice([-1.0, 1.0], 200), sure)
    both = np.array([skewed, groups])
    return Bends(PLACE, KNOWN, np.full(PLACE.shape, 9.0), both, both)


def casks(common: float) -> Candidates:
    spread = bends()
    own = 16.0 * np.tile(np.array([[1.0, 0.0], [0.0, 1.0]]), (len(PLACE), 1, 1))
    mean = np.array([[50.0, 41.0], [46.0, 44.0], [51.0, 38.0], [58.0, 46.0]])
    se = np.full(mean.shape, np.sqrt(16.0 + common))
    about = pd.DataFrame({"cask": [f"C{i}" for i in range(len(mean))]})
    shared = np.full(2, common)
    counts = np.full(len(mean), 9)
    return Candidates(about, mean, se, own, shared, counts).shaped(spread)


def test_what_was_bent_is_found_again() -> None:
    z = np.linspace(-3.9, 3.9, 27)[:, None, None] * np.ones((1, *PLACE.shape))
    assert bends().normal_at(bends().bent(z)) == pytest.approx(z, abs=1e-6)
    far = bends().normal_at(np.full((1, *PLACE.shape), np.inf))
    assert np.isposinf(far).all()


@pytest.mark.parametrize("common", [0.0, 9.0])
def test_the_chance_is_that_of_draws(common: float) -> None:
    found = casks(common)
    assert found.bends is not None
    low, high = np.array([46.0, 33.0]), np.array([58.0, 47.0])
    told = chance_bent(found, found.bends, low, high, 1)
    rng = np.random.default_rng(4)
    n = 100_000
    sd = np.sqrt(np.einsum("idd->id", found.own))
    drawn = found.estimate + found.bends.bent(rng.standard_normal((n, *PLACE.shape))) * sd
    drawn += np.sqrt(common) * rng.standard_normal((n, 1, 2))
    came = ((drawn > low) & (drawn < high)).all(axis=2).mean(axis=0)
    assert told == pytest.approx(came, abs=4.0 * 0.5 / np.sqrt(n))


def test_who_is_far_off_is_told_by_the_spread_and_not_by_a_normal() -> None:
    """A tail that the house shows reaches where a normal has hardly anything."""
    found = casks(0.0)
    assert found.bends is not None
    wide = (TargetLine("smoke", 69.0, 4.0), TargetLine("plum", 50.0, 50.0))
    far = Target("Far", wide)
    alone = chance_alone(far, found.estimate, np.einsum("idd->id", found.covariance))
    hopeless = alone.min(axis=1) < HOPELESS
    told = chance_of_casks(far, found)
    rng = np.random.default_rng(5)
    sd = np.sqrt(np.einsum("idd->id", found.own))
    n = 200_000
    drawn = found.estimate + found.bends.bent(rng.standard_normal((n, *PLACE.shape))) * sd
    came = ((drawn > [65.0, 0.0]) & (drawn < [73.0, 100.0])).all(axis=2).mean(axis=0)
    assert hopeless.any()
    assert told == pytest.approx(came, abs=4.0 * 0.5 / np.sqrt(n))
    assert (told[hopeless] > 10.0 * alone.prod(axis=1)[hopeless]).any()


def test_one_cask_on_many_days_is_told_as_on_each_by_itself() -> None:
    found = casks(4.0)
    assert found.bends is not None
    rows = np.array([0, 0, 3, 1, 0, 2])
    off = np.array([0.0, 2.0, -30.0, 4.0, 60.0, 1.0])
    days = replace(found.only(rows), estimate=found.estimate[rows] + off[:, None])
    together = chance_of_casks(TWO, replace(days, bends=found.bends), rows=rows)
    alone = [float(chance_of_casks(TWO, days.only(np.array([k])))[0]) for k in range(len(rows))]
    assert together == pytest.approx(alone, abs=1e-12)
    assert together.min() < HOPELESS < together.max()


@pytest.mark.parametrize("common", [0.0, 9.0])
def test_who_is_far_off_at_first_sight_is_hopeless(common: float) -> None:
    """Beside the sum over fine steps of what all casks share."""
    found = casks(common)
    assert found.bends is not None
    sd = np.sqrt(np.einsum("idd->id", found.own))
    steps = np.linspace(-7.0, 7.0, 1401)
    share = np.exp(-0.5 * steps**2) / np.exp(-0.5 * steps**2).sum()
    n_far = 0
    for aim in np.arange(2.0, 98.0, 4.0):
        low, high = (np.full(2, aim + end) for end in (-3.0, 3.0))
        ends = [
            (end - found.estimate - steps[:, None, None] * np.sqrt(common)) / sd
            for end in (low, high)
        ]
        below = [scipy.special.ndtr(found.bends.normal_at(end)) for end in ends]
        true = np.einsum("s,sid->id", share, below[1] - below[0])
        room = 4.0 * np.sqrt(common)
        first = (low - room - found.estimate) / sd, (high + room - found.estimate) / sd
        far = found.bends.beyond(*first)
        n_far += int(far.sum())
        assert (true[far] < HOPELESS).all()
        told = chance_bent(found, found.bends, low, high, 1)
        assert (told[far.any(axis=1)] <= HOPELESS).all()
    assert n_far > 60


def test_who_is_nearest_is_drawn_from_the_same_spread() -> None:
    found = casks(0.0)
    assert found.bends is not None
    order = np.arange(len(PLACE))
    plain = _drawn(replace(found, bends=None), TWO, order, 4000, 1)
    drawn = _drawn(found, TWO, order, 4000, 1)
    assert not np.allclose(plain, drawn, rtol=0.05)
    # Bent or not, what is expected of a note and its variance are the same.
    assert drawn.mean(axis=0) == pytest.approx(found_distance(found), rel=0.06)


def found_distance(found: Candidates) -> np.ndarray:
    aim, tolerance = np.array([52.0, 40.0]), np.array([6.0, 7.0])
    off: np.ndarray = np.mean(((found.estimate - aim) ** 2 + found.se**2) / tolerance**2, axis=1)
    return off


def test_what_is_told_of_the_worst_line_is_the_estimate() -> None:
    found = casks(0.0)
    assert found.told[1].tolist() == [46.0, 44.0]
    assert not np.allclose(found.estimate, found.told)
    assert found.only(np.array([1])).told.tolist() == [[46.0, 44.0]]


def plain_of(profile: Profile) -> Profile:
    assert profile.posterior is not None
    return replace(profile, posterior=replace(profile.posterior, foretold=None))


def test_a_house_that_nosed_few_casks_counts_them_as_normal() -> None:
    cellar = Cellar("two groups", n_casks=FEWEST - 1)
    profile = estimate_profile(cellar.draw(1)[0])
    ours, plain = (match_casks(one, cellar.target(1)) for one in (profile, plain_of(profile)))
    assert ours == plain


def test_casks_of_two_groups_are_told_apart_from_a_normal() -> None:
    """Mean squared error of the chance that a cask lies within, over casks that do or do not."""
    cellar, squared = Cellar("a few far above"), np.zeros(2)
    for seed in range(3):
        scores, within = cellar.draw(seed)
        profile = estimate_profile(scores)
        for k, one in enumerate((profile, plain_of(profile))):
            found = match_casks(one, cellar.target(seed), draws=10).casks
            squared[k] += np.mean([(each.probability - within[each.cask]) ** 2 for each in found])
    assert squared[0] < 0.8 * squared[1]


def test_the_grid_of_a_spread_is_that_of_its_places() -> None:
    assert spread_of(np.zeros(0), np.zeros(0)).shape == GRID.shape
