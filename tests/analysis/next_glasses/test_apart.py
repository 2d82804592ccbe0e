"""Casks of sessions that share no glass: the order within an evening is known, its level not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pandas as pd
import pytest

from analysis.next_glasses import Known, NextSession, Room, Why, known_from, next_for_target
from analysis.next_glasses.changes import looked_at
from analysis.next_glasses.deciding import cost_of
from analysis.next_glasses.margins import margins_of
from analysis.next_glasses.settings import NextSettings
from analysis.next_glasses.states import States, states_of
from analysis.profile import ProfileSettings, estimate_profile
from analysis.target import Target, TargetLine
from analysis.vatting import stock_from_profile
from panel.words.apart_words import apart_in_short
from panel.words.next_words import chosen_words, reason_lines
from tests.analysis.next_glasses.houses import known_house

DAY = date(2031, 5, 4)
PLUM = Target("Plum", (TargetLine("plum", 60.0, 8.0),))
ROOM = Room(dict.fromkeys("ABCDE", 5), pool=6)
EVENINGS = {"S1": range(0, 9), "S2": range(5, 12), "S3": range(12, 19), "S4": range(19, 26)}


@cache
def evenings() -> Known:
    """Two evenings with casks in common, and two with none; each has a mood of its own."""
    rng = np.random.default_rng(5)
    level = rng.normal(45.0, 10.0, 26)
    mood = {"S1": 6.0, "S2": -7.0, "S3": 8.0, "S4": -6.0}
    rows = [
        {
            "session": evening, "held_on": "2031-03-01", "assessor": who, "sample": f"c{n:02}",
            "cask": f"c{n:02}", "filling": f"c{n:02}", "replicate": replicate, "descriptor": "plum",
            "score": float(np.clip(level[n] + mood[evening] + rng.normal(0.0, 7.0), 0.0, 100.0)),
        }
        for evening, casks in EVENINGS.items() for who in "ABCDE" for n in casks
        for replicate in (1, 2)
    ]  # fmt: skip
    scores, names = pd.DataFrame(rows), [f"c{n:02}" for n in range(26)]
    casks = pd.DataFrame({"cask": names, "filling": names, "age_years": 9.0, "abv": 59.0})
    profile = estimate_profile(scores, settings=ProfileSettings(processes=1))
    stock = stock_from_profile(profile, casks.assign(bulk_l=180.0), as_of=DAY)
    return known_from(profile, scores, stock)


@cache
def session() -> NextSession:
    return next_for_target(evenings(), PLUM, 4, ROOM)


def _states() -> States:
    return states_of(evenings(), ["plum"])


def test_a_cask_apart_is_what_its_own_evening_says() -> None:
    states, held = _states(), evenings().profile.posterior
    assert held is not None
    assert states.mean[12:] == pytest.approx(held.mean[12:])
    assert states.covariance[12:, 0, 0] == pytest.approx(held.covariance[12:, 0, 0])
    assert states.part is not None
    assert [len(set(states.part[list(casks)])) for casks in EVENINGS.values()] == [1, 1, 1, 1]
    assert states.apart.tolist() == [False] * 12 + [True] * 14
    assert not states.foretellable[12:].any()


def test_what_an_evening_is_off_all_its_casks_are_and_no_others() -> None:
    states = _states()
    drawn = states.draws(20000, np.random.default_rng(2))[:, :, 0] - states.mean[:, 0]
    found = np.cov(drawn.T) - states.common[0]
    within = found[12:19, 12:19][np.triu_indices(7, 1)]
    assert within.min() > 5.0
    assert np.abs(found[12:19, 19:]).max() < 2.0
    apart = np.var(drawn[:, 12] - drawn[:, 13]) / (found[12, 12] + found[13, 13])
    assert apart < 0.75


def test_as_many_are_said_to_leave_as_to_come_in() -> None:
    margins = margins_of(_states(), PLUM, 4)
    told = np.zeros_like(margins.states.mean)
    told[12:] = 0.05
    cost = cost_of(margins, np.where(told[:, 0] > 0.0, 2.0, 0.0), 4000, 1, told=told)
    rows = looked_at(margins, cost.crosses, NextSettings(near=40))
    chosen = margins.chosen[rows]
    leave, come = cost.crosses[rows][chosen].sum(), cost.crosses[rows][~chosen].sum()
    assert leave == pytest.approx(come)
    assert cost.crosses[12:].sum() > 0.1


def test_the_nearest_of_an_evening_are_poured_and_it_is_said() -> None:
    found, states = session(), _states()
    poured = [one.cask for one in found.casks if one.reason.why is Why.APART]
    assert poured
    off = margins_of(states, PLUM, 4).off
    for casks in (EVENINGS["S3"], EVENINGS["S4"]):
        ranked = [states.names[row] for row in sorted(casks, key=lambda row: off[row])]
        mine = [name for name in ranked if name in poured]
        assert mine == ranked[: len(mine)]
    assert not set(found.chosen) & set(poured)
    assert f"may come in once poured: {', '.join(filter(None, poured))}" in chosen_words(found)
    assert all(name and name in apart_in_short(found) for name in poured)
    assert "none beside those compared" in " ".join(reason_lines(found, 500))


def test_where_all_sessions_hang_together_nothing_is_apart() -> None:
    states = states_of(known_house(unnosed=0), ["plum"])
    assert states.part is None
    assert not states.apart.any()
    only = replace(session(), casks=())
    assert apart_in_short(only) == ""
    assert "may come in" not in chosen_words(only)
