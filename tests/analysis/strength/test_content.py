"""What casks hold on a day, against made-up houses whose losses are known."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from analysis.strength import evaporation
from analysis.strength.content import Contents, contents_on, years_until
from analysis.strength.yearly import COOL, Gauged, yearly_losses


@dataclass(frozen=True)
class World:
    """Casks of one house: their true losses, and gauges with the errors that dips have."""

    n: int = 120
    loss: float = 0.019
    loss_sd: float = 0.004
    fall: float = 0.006
    error: float = 0.01
    once: float = 0.3
    ahead: float = 4.0

    def draw(self, seed: int) -> tuple[Gauged, np.ndarray, np.ndarray]:
        rng = np.random.default_rng(seed)
        n, span = self.n, rng.uniform(3.0, 12.0, self.n)
        loss = np.maximum(rng.normal(self.loss, self.loss_sd, n), 0.002)
        fall = rng.normal(self.fall, 0.001, n)
        since = rng.uniform(0.2, self.ahead, n)
        full, strong = rng.uniform(190.0, 260.0, n), rng.uniform(60.0, 66.0, n)
        then, weaker = full * np.exp(-loss * span), strong * np.exp(-fall * span)
        read = then * (1.0 + rng.normal(0.0, self.error, n))
        abv = weaker + rng.normal(0.0, 0.15, n)
        once = rng.random(n) < self.once
        gauged = Gauged(
            abv_percent=abv,
            since_years=since,
            last_litres=read,
            last_abv_percent=abv,
            litres_error=np.full(n, self.error),
            taken_litres=np.zeros(n),
            taken_years=np.zeros(n),
            added_litres=np.zeros(n),
            added_years=np.zeros(n),
            first_litres=np.where(once, read, full),
            first_abv_percent=np.where(once, abv, strong),
            first_error=np.where(once, self.error, 0.005),
            span_years=np.where(once, 0.0, span),
            fresh=np.zeros(n, dtype=bool),
            size_litres=np.full(n, 250.0),
            dry=np.zeros(n, dtype=bool),
        )
        return gauged, then * np.exp(-loss * since), weaker * np.exp(-fall * since)


def inside(found: Contents, litres: np.ndarray, abv: np.ndarray) -> tuple[float, float]:
    (low, high), (weak, strong) = found.litres_between(), found.abv_between()
    return (
        float(((low <= litres) & (litres <= high)).mean()),
        float(((weak <= abv) & (abv <= strong)).mean()),
    )


@pytest.mark.parametrize("world", [World(), World(once=0.8), World(n=12), World(error=0.015)])
def test_nine_in_ten_lie_between_the_ends(world: World) -> None:
    found = []
    for seed in range(20):
        gauged, litres, abv = world.draw(seed)
        found.append(inside(contents_on(gauged), litres, abv))
    covered = np.mean(found, axis=0)
    assert (covered > 0.86).all(), covered
    assert (covered < 0.97).all(), covered


def test_as_gauged_it_would_be_too_much() -> None:
    gauged, litres, abv = World().draw(1)
    found = contents_on(gauged)
    stood = float(np.mean(gauged.last_litres / litres) - 1.0)
    moved = float(np.mean(found.litres / litres) - 1.0)
    assert stood > 0.03
    assert abs(moved) < 0.005
    assert abs(float(np.mean(found.abv_percent / abv)) - 1.0) < 0.003


def test_one_gauge_goes_as_the_house_and_two_as_the_cask() -> None:
    gauged, *_ = World(loss=0.03, once=0.5).draw(2)
    rates = yearly_losses(gauged)
    once = gauged.span_years == 0.0
    assert np.ptp(rates.loss[once]) == pytest.approx(0.0)
    assert rates.loss[once][0] == pytest.approx(0.03, abs=0.003)
    assert (rates.weight[once] == 0.0).all()
    assert (rates.own_sd[once] > rates.own_sd[~once].max()).all()


def test_a_house_without_two_gauges_goes_as_the_trade() -> None:
    gauged, *_ = World(once=1.1).draw(3)
    rates = yearly_losses(gauged)
    assert rates.loss == pytest.approx(COOL.litres)
    assert rates.shared_sd == pytest.approx(COOL.litres_sd)


def test_a_leak_does_not_move_the_house() -> None:
    gauged, *_ = World().draw(4)
    leaky = gauged.last_litres.copy()
    leaky[:6] *= 0.5
    other = replace(gauged, last_litres=leaky)
    before, after = yearly_losses(gauged), yearly_losses(other)
    rest = np.arange(gauged.last_litres.size) >= 6
    assert np.abs(before.loss - after.loss)[rest].max() < 0.001


def test_dry_stores_are_taken_by_themselves() -> None:
    gauged, *_ = World(loss=0.07, loss_sd=0.01).draw(5)
    cool, *_ = World().draw(6)
    both = Gauged(
        **{
            name: np.concatenate([getattr(gauged, name), getattr(cool, name)])
            for name in Gauged.__dataclass_fields__
        }
    )
    dry = np.arange(both.last_litres.size) < gauged.last_litres.size
    rates = yearly_losses(replace(both, dry=dry))
    assert np.median(rates.loss[dry]) > 0.05
    assert np.median(rates.loss[~dry]) < 0.025


def test_a_cask_filled_and_never_gauged_again_loses_what_its_wood_drinks() -> None:
    gauged, *_ = World(once=1.1).draw(7)
    fresh = replace(gauged, fresh=np.ones(gauged.last_litres.size, dtype=bool))
    less = contents_on(fresh).litres / contents_on(gauged).litres
    years = gauged.since_years
    assert (less < 1.0).all()
    assert less[years > 2.0] == pytest.approx(np.exp(-0.02), abs=0.002)


def test_two_good_gauges_of_a_house_alike_give_back_the_rate_between_them() -> None:
    """200 L of 63.5 % to 168 L of 58.2 % in ten years: 2.58 % of alcohol a year."""
    n = 40
    ones = np.ones(n)
    cask = Gauged(
        *(58.2 * ones, 1.0 * ones, 168.0 * ones, 58.2 * ones, 1e-6 * ones),
        *(0.0 * ones, 0.0 * ones, 0.0 * ones, 0.0 * ones),
        *(200.0 * ones, 63.5 * ones, 1e-6 * ones, 10.0 * ones),
        *(np.zeros(n, dtype=bool), 250.0 * ones, np.zeros(n, dtype=bool)),
    )
    found = contents_on(cask)
    kept = found.litres * found.abv_percent / (168.0 * 58.2)
    want = evaporation(200.0, 63.5, 168.0, 58.2, 10.0).lpa_percent_a_year_compound
    assert 100.0 * (1.0 - kept[0]) == pytest.approx(want, abs=0.15)


def test_what_was_taken_today_is_off_in_full_and_what_went_long_ago_lost_nothing_more() -> None:
    gauged, *_ = World().draw(9)
    n = gauged.last_litres.size
    whole = contents_on(gauged)
    out = replace(gauged, taken_litres=np.full(n, 100.0))
    today, then = contents_on(out), contents_on(replace(out, taken_years=gauged.since_years))
    assert today.litres == pytest.approx(whole.litres - 100.0)
    # Taken on the day of the gauge: as a cask that was gauged with so much less in it.
    loss = np.exp(-whole.litres_rate.loss * gauged.since_years)
    assert then.litres == pytest.approx((gauged.last_litres - 100.0) * loss)
    # A litre wrong in the whole cask is a litre wrong in its rest.
    wide = np.diff(today.litres_between(), axis=0) / np.diff(whole.litres_between(), axis=0)
    assert wide.ravel() == pytest.approx(1.0, abs=0.01)
    back = replace(out, added_litres=np.full(n, 100.0))
    assert contents_on(back).litres == pytest.approx(whole.litres)


def test_years_until_a_strength_is_one_curve_with_the_contents() -> None:
    gauged, *_ = World().draw(8)
    weak = replace(gauged, abv_percent=np.full(gauged.last_litres.size, 41.0))
    found = contents_on(weak)
    years = years_until(weak.abv_percent, found.abv_rate.loss, 40.0)
    then = contents_on(replace(weak, since_years=years))
    assert then.abv_percent == pytest.approx(40.0)
