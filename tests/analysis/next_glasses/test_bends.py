"""What the spread of a house makes of its casks, beside a normal."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.integrate
import scipy.stats

from analysis.next_glasses.deciding import cost_of
from analysis.next_glasses.margins import margins_of
from analysis.profile.bends import Bends, bends_of
from analysis.profile.shapes import (
    FEWEST,
    GRID,
    STANDING_OUT,
    STANDS_OUT,
    USUAL,
    skew_of,
    spread_of,
    stretched,
)
from tests.analysis.next_glasses.houses import known_house, made_up

SURE, N = 0.85, 80


def house(own: np.ndarray, unnosed: int = 20) -> Bends:
    """Casks whose places are as well known as `SURE`, and some that nobody nosed."""
    rng = np.random.default_rng(6)
    noise = np.sqrt((1.0 - SURE) / SURE)
    place = SURE * (own + rng.normal(0.0, noise, len(own)))
    spread = spread_of(place, np.full(len(own), SURE))[None]
    nothing = np.zeros(unnosed)
    return Bends(
        place=np.append(place, nothing)[:, None],
        known=np.append(np.full(len(own), SURE), nothing)[:, None],
        sd=np.full((len(own) + unnosed, 1), np.inf),
        spread=spread,
        nosed=stretched(spread[0])[None],
    )


def skewed(n: int = N) -> np.ndarray:
    return np.random.default_rng(5).gamma(1.0, 1.0, n) - 1.0


def test_few_casks_are_taken_for_normal() -> None:
    few = house(skewed(6), unnosed=1)
    shift, times = few.moments
    z = np.linspace(-3.0, 3.0, 13)[:, None, None] * np.ones((1, 7, 1))
    assert shift[-1, 0] == pytest.approx(0.0, abs=1e-6)
    assert times[-1, 0] == pytest.approx(1.0, abs=1e-4)
    assert np.abs(few.bent(z)[:, -1] - z[:, -1]).max() < 0.02


def test_a_cask_is_held_to_be_what_prior_and_glasses_make_of_it() -> None:
    """Against quadrature of the product of a known spread and the glasses' normal."""
    density = scipy.stats.gamma(4.0, loc=-2.0, scale=0.5)
    spread = density.pdf(GRID)
    spread /= spread.sum()
    bends = Bends(np.array([[0.9]]), np.array([[0.6]]), np.ones((1, 1)), spread[None], spread[None])
    told, noise = 0.9 / 0.6, np.sqrt(0.4 / 0.6)

    def weighed(power: int) -> float:
        def one(x: float) -> float:
            return float(x**power * density.pdf(x) * scipy.stats.norm.pdf(x, told, noise))

        return float(scipy.integrate.quad(one, -2.0, 9.0)[0])

    mean = weighed(1) / weighed(0)
    sd = np.sqrt(weighed(2) / weighed(0) - mean**2)
    shift, times = bends.moments
    assert shift[0, 0] == pytest.approx((mean - 0.9) / np.sqrt(0.4), abs=2e-3)
    assert times[0, 0] == pytest.approx(sd / np.sqrt(0.4), abs=2e-3)


def test_what_the_years_added_is_not_bent() -> None:
    spread = spread_of(SURE * skewed(), np.full(N, SURE))[None]
    bends = Bends(np.array([[0.9]]), np.array([[0.6]]), np.full((1, 1), 2.0), spread, spread)
    fresh, stale = (bends.moved(np.full((1, 1), sd)) for sd in (2.0, 20.0))
    assert fresh[0] == pytest.approx(stale[0])
    assert stale[1] == pytest.approx(1.0, abs=0.01)
    assert fresh[1] == pytest.approx(bends.moments[1])


def test_casks_never_nosed_are_spread_as_the_house() -> None:
    bends = house(skewed())
    assert skew_of(bends.spread[0]) > 1.0
    drawn = bends.bent(np.random.default_rng(1).standard_normal((4000, N + 20, 1)))[:, -1, 0]
    assert drawn.mean() == pytest.approx(0.0, abs=0.05)
    assert drawn.std() == pytest.approx(1.0, abs=0.05)
    assert scipy.stats.skew(drawn) > 1.0


def test_how_far_below_a_cut_is_that_of_the_draws() -> None:
    bends = house(skewed())
    cut, side = np.full(N + 20, -1.5), np.full((N + 20, 1), -1.0)
    told = bends.below(side, cut)[-1] * 0.0293
    rng = np.random.default_rng(2)
    z = rng.standard_normal((200_000, 1, 1))
    z *= np.sqrt(np.where(rng.random(z.shape) < STANDS_OUT, STANDING_OUT, USUAL))
    one = replace(bends, place=bends.place[-1:], known=bends.known[-1:], sd=bends.sd[-1:])
    drawn = -one.bent(z)
    assert told == pytest.approx(np.maximum(-1.5 - drawn, 0.0).mean(), rel=0.05)


def test_the_promise_and_the_draws_read_the_same_spread() -> None:
    """A house of which few casks are far better promises more while some were never nosed."""
    plain = made_up(N + 20, lines=1)
    nothing = np.arange(N + 20) >= N
    states = replace(plain.states, unnosed=nothing)
    bends = house(skewed())
    at = [margins_of(each, plain.target, 4) for each in (states, states.shaped(bends))]
    loss = [cost_of(each, np.zeros(N + 20), 2000, 1).loss for each in at]
    assert loss[1] != pytest.approx(loss[0], rel=0.02)
    assert np.allclose(at[1].states.mean[nothing], states.mean[nothing], atol=0.2)


def test_a_house_lays_its_casks_into_its_spread() -> None:
    known = known_house(n_casks=FEWEST + 4, unnosed=4)
    samples = [
        known.nosed[str(name)].sample if str(name) in known.nosed else ""
        for name in known.stock.names
    ]
    held = known.profile.posterior
    bends = bends_of(held, samples, ("plum", "smoke"))
    assert bends is not None
    assert (bends.known[:FEWEST] > 0.0).all()
    assert not bends.known[FEWEST:].any()
    assert bends_of(held, samples[:1], ("plum", "no such note")) is None
    assert bends_of(held, samples[:2], ("plum",)) is None
