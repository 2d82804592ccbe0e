"""The next session for the best casks: what it costs to decide, and what would change a mind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.special

from analysis.bars import FillingFacts, bars_of
from analysis.next_glasses import (
    Halt,
    NextSettings,
    Room,
    Why,
    next_for_target,
    price_of_swap,
)
from analysis.next_glasses.deciding import cost_of
from analysis.next_glasses.margins import margins_of
from analysis.next_glasses.stopping import stop_of
from analysis.target import Target, TargetLine
from analysis.target.off import points_off
from tests.analysis.next_glasses.houses import FEN, known_house, made_up

ROOM = Room(dict.fromkeys("ABCD", 4), pool=6)


def test_the_loss_is_that_of_casks_drawn_by_hand() -> None:
    margins = made_up(40)
    found = cost_of(margins, np.zeros(40), 6000, 1)
    truth = margins.states.draws(6000, np.random.default_rng(9))
    off = points_off(margins.target, truth)
    loss = (off[:, margins.chosen].mean(axis=1) - np.sort(off, axis=1)[:, :4].mean(axis=1)).mean()
    assert found.loss == pytest.approx(loss, rel=0.05)
    assert found.belongs.sum() == pytest.approx(4.0)
    assert found.crosses.tolist() == [0.0] * 40


def test_a_session_that_settles_everything_saves_nearly_all() -> None:
    margins = made_up(40)
    found = cost_of(margins, np.sqrt(margins.variance), 4000, 1)
    assert found.saved == pytest.approx(found.loss, rel=0.15)


def test_the_chance_to_cross_is_that_of_two_normals() -> None:
    margins = made_up(2, lines=1)
    margins = type(margins)(
        **{**vars(margins), "off": np.array([4.0, 6.0]), "variance": np.array([9.0, 4.0]),
           "order": np.array([0, 1]), "chosen": np.array([True, False]),
           "cut": np.array([6.0, 4.0])}
    )  # fmt: skip
    found = cost_of(margins, np.array([1.5, 1.0]), 20_000, 1)
    exact = scipy.special.ndtr(-2.0 / np.hypot(1.5, 1.0))
    assert found.crosses == pytest.approx([exact, exact], abs=0.005)


def test_the_chance_to_cross_on_an_aim_in_the_middle_is_counted_world_by_world() -> None:
    # Whole posteriors drawn by hand: a look of known error at each note, Bayes' rule on it, and
    # how far off a normal then is on average (Leone, Nelson & Nottingham 1961, the folded normal).
    rng = np.random.default_rng(3)
    mean = np.array([40.0, 42.0, 39.0, 45.0, 36.0, 48.0])
    before, look = np.full(6, 25.0), np.array([9.0, 0.0, 4.0, 0.0, 16.0, 9.0])
    target = Target("Mid", (TargetLine("note 0", 40.0, 5.0),))
    made = made_up(6, lines=1)
    states = replace(made.states, mean=mean[:, None], own=before[:, None, None])
    margins = margins_of(states, target, 2)
    told = np.where(look > 0.0, 1.0 / np.maximum(look, 1e-9), 0.0)
    after = 1.0 / (1.0 / before + told)
    moves = np.sqrt(np.maximum(margins.variance, 0.0)) * (look > 0.0)
    found = cost_of(margins, moves, 5000, 1, told=told[:, None])
    seen = rng.normal(mean, np.sqrt(before), (40_000, 6))
    read = rng.normal(seen, np.sqrt(look))
    off = np.where(look > 0.0, after * (mean / before + read * told), mean) - 40.0
    sd = np.sqrt(after)
    folded = sd * np.sqrt(2.0 / np.pi) * np.exp(-0.5 * (off / sd) ** 2)
    folded = folded + off * (1.0 - 2.0 * scipy.special.ndtr(-off / sd))
    nearest = np.argsort(folded, axis=1)[:, :2]
    among = np.bincount(nearest.ravel(), minlength=6) / len(folded)
    wanted = np.where(margins.chosen, 1.0 - among, among)
    assert found.crosses == pytest.approx(wanted, abs=0.03)


def test_who_noses_what_and_what_it_saves() -> None:
    known = known_house()
    found = next_for_target(known, FEN, 3, ROOM, bottles=dict.fromkeys(known.stock.names, 200.0))
    assert len(found.glasses) == 16
    assert found.expected_loss is not None
    assert found.expected_loss_after is not None
    assert 0.0 <= found.expected_loss_after <= found.expected_loss
    assert 0.0 < (found.bottles or 0.0) <= 600.0
    assert len(found.chosen) == 3
    assert not set(found.chosen) & {"c10", "c11", "c12", "c13"}
    unnosed = [one for one in found.casks if one.cask in {"c10", "c11", "c12", "c13"}]
    assert unnosed
    assert {one.reason.why for one in unnosed} == {Why.UNNOSED}
    assert all(one.to_draw for one in found.casks)
    assert found.to_dict()["glasses"][0].keys() == {
        "assessor", "cask", "sample", "value", "reason"
    }  # fmt: skip


def test_what_may_not_be_used_is_neither_poured_nor_chosen() -> None:
    plain = next_for_target(known_house(), FEN, 3, ROOM)
    held = plain.chosen[0]
    hold = bars_of(FillingFacts(180.0, 59.0, on_hold=True))
    bars = [hold if n == int(held[1:]) else () for n in range(14)]
    found = next_for_target(known_house(bars=bars), FEN, 3, ROOM)
    assert held not in {glass.cask for glass in found.glasses} | set(found.chosen)
    assert [(one.cask, "on hold" in one.reason) for one in found.left_out] == [(held, True)]


def test_a_swap_has_a_price() -> None:
    known = known_house()
    first = next_for_target(known, FEN, 3, ROOM)
    poured = [one.cask for one in first.casks if one.cask is not None]
    other = next(name for name in known.stock.names if name not in poured)
    found = price_of_swap(
        first, ROOM, poured[0], str(other), lambda room: next_for_target(known, FEN, 3, room)
    )
    after = {one.cask for one in found.session.casks}
    assert after == {*poured[1:], str(other)}
    assert found.price == pytest.approx((first.saves or 0.0) - (found.session.saves or 0.0))


def test_a_loss_is_no_reason_to_stop_before_six_sessions() -> None:
    house = NextSettings()
    assert stop_of(0.1, 5, house).halt is Halt.TOO_EARLY
    assert stop_of(0.1, 6, house).stop
    assert not stop_of(1.2, 6, house).stop
    assert stop_of(1.2, 6, house, any_glass=False).halt is Halt.NOTHING_LEFT


def test_a_new_draw_is_worth_more_than_the_sample_somebody_nosed_already() -> None:
    known = known_house(unnosed=0)
    name = next_for_target(known, FEN, 3, ROOM).casks[0].cask or ""
    same = next_for_target(known, FEN, 3, Room({"A": 1}, samples={name: name}, asked=(name,)))
    new = next_for_target(known, FEN, 3, Room({"A": 1}, samples={name: "new"}, asked=(name,)))
    assert new.glasses[0].value > same.glasses[0].value
    assert not new.casks[0].to_draw
