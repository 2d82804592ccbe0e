"""A match and the windows of ageing say one chance of a cask, where its house is not normal."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pandas as pd
import pytest

from analysis.ageing import Ageing, Asked, notes_on_day
from analysis.ageing.deciding import LEAST_YEARS, TURNS_BY
from analysis.days import DAYS_A_YEAR
from analysis.on_stock import ageing_of_stock, match_stock
from analysis.profile import Profile
from analysis.profile.bends import bends_of
from analysis.profile.posterior import Posterior
from analysis.target import Match, Target, TargetLine, ends_of
from tests.houses.casks import Casks, profile_of

DAY, YEARS = date(2026, 11, 25), 2.0
NOTES, COMMON, BETWEEN = ("custard", "slate", "smoke"), 0.5, 150.0
MADE = Casks(n=70, noise_sd=7.0)
TARGET = Target("High", (TargetLine("slate", 48.0, 9.0), TargetLine("custard", 30.0, 20.0)))
ALONE = Target("Slate", (TargetLine("slate", 52.0, 6.0),))
UNUSED = ("c3", "c8", "c21", "c40")
"""Casks on hold."""


@cache
def house() -> tuple[Profile, pd.DataFrame]:
    """Casks of which a few have far more slate than the rest, and what is believed of them."""
    rng = np.random.default_rng(8)
    draws = MADE.draws(4)
    more = dict.fromkeys(draws["cask"], 0.0) | {
        name: float(rng.exponential(12.0)) for name in draws["cask"].unique()
    }
    draws["slate"] += draws["cask"].map(more)
    known = profile_of(draws, MADE.readings(draws), BETWEEN)
    samples = tuple(draws["sample"])
    wide = known.estimates.pivot(index="sample", columns="descriptor", values="estimate")
    mean = wide.loc[list(samples), list(NOTES)].to_numpy()
    own = np.unique(known.estimates["se"].round(12)).item() ** 2 - COMMON
    held = Posterior(
        samples=samples,
        descriptors=NOTES,
        mean=mean,
        covariance=np.tile(own * np.eye(len(NOTES)), (len(samples), 1, 1)),
        common=np.full(len(NOTES), COMMON),
        between=BETWEEN * np.eye(len(NOTES)),
        share=1.0,
        foretold=np.broadcast_to(mean.mean(axis=0), mean.shape),
    )
    return replace(known, posterior=held), draws


def plain() -> Profile:
    """The same house, its casks taken for normal."""
    profile, _ = house()
    assert profile.posterior is not None
    return replace(profile, posterior=replace(profile.posterior, foretold=None))


def lying(day: date) -> pd.DataFrame:
    """The casks on a day, two years after their last draw and later, and one never nosed."""
    _, draws = house()
    last = draws.drop_duplicates("filling", keep="last").reset_index(drop=True)
    new = last.head(1).assign(cask="new", filling="new/1", age_years=8.0)
    found = pd.concat([last, new], ignore_index=True).assign(sample=lambda f: f["filling"])
    found["age_years"] += YEARS + (day - DAY).days / DAYS_A_YEAR
    return found


def casks() -> pd.DataFrame:
    held = ["on hold" if name in UNUSED else "filled" for name in lying(DAY)["cask"]]
    return lying(DAY)[["cask", "filling"]].assign(status=held)


def matched(target: Target, day: date, profile: Profile | None = None) -> Match:
    known, draws = house()
    names = [line.descriptor for line in target.lines]
    notes = notes_on_day(profile or known, draws, lying(day), day, descriptors=names)
    return match_stock(target, casks(), notes)


def aged(*targets: Target, asked: Asked | None = None, profile: Profile | None = None) -> Ageing:
    known, draws = house()
    return ageing_of_stock(
        *(profile or known, draws, lying(DAY), casks()),
        as_of=DAY,
        targets=targets,
        asked=asked or Asked(),
    )


def chances(found: Match) -> dict[str, float]:
    return {part.cask: part.probability for part in found.casks}


@pytest.mark.slow
def test_the_house_is_such_that_a_normal_tells_something_else() -> None:
    bent, normal = (chances(matched(TARGET, DAY, known)) for known in (None, plain()))
    assert max(abs(bent[cask] - normal[cask]) for cask in bent) > 0.03


def test_on_the_day_a_window_opens_with_what_match_says() -> None:
    match = chances(matched(TARGET, DAY))
    found = {window.cask: window.now_chance for window in aged(TARGET).windows}
    assert len(match) == MADE.n - len(UNUSED)
    told = {cask: found[cask] for cask in match if found[cask] is not None}
    assert len(told) > 40
    assert told == pytest.approx({cask: match[cask] for cask in told}, abs=1e-9)


@pytest.mark.slow
def test_later_it_is_what_match_says_for_that_day() -> None:
    windows = [one for one in aged(TARGET).windows if one.best_on and one.best_on > DAY]
    some = {one.best_on for one in windows if one.best_on and (one.best_chance or 0.0) > 0.1}
    assert len(some) >= 3
    for day in sorted(some)[::3]:
        match = chances(matched(TARGET, day))
        told = {w.cask: w.best_chance for w in windows if w.best_on == day and w.cask != "new"}
        assert told == pytest.approx({cask: match[cask] for cask in told}, abs=1e-6)


@pytest.mark.slow
def test_asked_for_by_number_the_others_on_hold_tell_nothing_of_it() -> None:
    match = chances(matched(TARGET, DAY))
    asked = Asked(casks=("c5", UNUSED[0]))
    found = {window.cask: window.now_chance for window in aged(TARGET, asked=asked).windows}
    assert found["c5"] == pytest.approx(match["c5"], abs=1e-9)
    assert found[UNUSED[0]] is not None


@pytest.mark.slow
def test_a_cask_never_nosed_is_spread_as_the_house() -> None:
    """Against draws of one line."""
    profile, draws = house()
    stock = lying(DAY)
    stock = stock[~stock["cask"].isin(UNUSED)]
    notes = notes_on_day(profile, draws, stock, DAY, descriptors=["slate"])
    drawn = [notes.moved[name].sample for name in notes.moved]
    bends = bends_of(profile.posterior, ["", *drawn], ["slate"])
    assert bends is not None
    place = notes.places["new/1"]
    age = stock.loc[stock["cask"] == "new", "age_years"].to_numpy()
    then = notes.moves.at(age[:, None], [place])
    sd = float(np.sqrt(then.own[0, 0, 0, 0]))
    shift, times = (float(each[0, 0]) for each in bends.moments)
    n, rng = 200_000, np.random.default_rng(2)
    z = bends.only(np.array([0])).bent(rng.standard_normal((n, 1, 1)))[:, 0, 0]
    truth = then.mean[0, 0, 0] + sd * (shift + times * z)
    truth += np.sqrt(COMMON) * rng.standard_normal(n)
    (low,), (high,) = ends_of(ALONE)
    came = float(((truth > low) & (truth < high)).mean())
    window = next(one for one in aged(ALONE).windows if one.cask == "new")
    normal = next(one for one in aged(ALONE, profile=plain()).windows if one.cask == "new")
    assert window.now_chance == pytest.approx(came, abs=4.0 * 0.5 / np.sqrt(n))
    assert normal.now_chance is not None
    assert abs(normal.now_chance - came) > 0.01


def test_years_decide_where_they_turn_the_chance_that_match_tells() -> None:
    """Beside a match of the notes as they were nosed."""
    day = date(2029, 5, 25)
    _, draws = house()
    found = matched(TARGET, day)
    last = draws.drop_duplicates("filling", keep="last")
    then = last.assign(sample=last["filling"])
    profile, _ = house()
    names = [line.descriptor for line in TARGET.lines]
    nosed = notes_on_day(profile, draws, then, DAY, descriptors=names)
    before = chances(match_stock(TARGET, casks(), nosed))
    for part in found.casks:
        assert part.years_moved is not None
        assert part.years_moved > LEAST_YEARS
        turned = abs(part.probability - before[part.cask]) >= TURNS_BY
        assert part.decides is bool(turned)
    assert 1 < sum(part.decides for part in found.casks) < len(found.casks)
