"""The chance that a cask belongs to the nearest, today and after what a session finds of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from analysis.array_types import Floats
from analysis.next_glasses import Room, next_for_target
from analysis.next_glasses.deciding import Cost, cost_of
from analysis.next_glasses.margins import Margins, margins_of
from analysis.target import Target, TargetLine

from .houses import FEN, known_house, made_up


def casks(target: Target, mean: Sequence[float], variance: Sequence[float], k: int) -> Margins:
    """Casks on one note, with a level in common that is known far worse than any of them."""
    n = len(mean)
    states = replace(
        made_up(n, lines=1).states,
        mean=np.array(mean)[:, None],
        own=np.array(variance)[:, None, None],
        common=np.array([100.0]),
    )
    return margins_of(states, target, k)


def test_of_two_casks_that_are_as_near_it_is_an_angle() -> None:
    # Two normals of correlation r are both below their means with 1/4 + asin(r) / (2 pi):
    # Sheppard 1899, Phil Trans R Soc A 192:101 (from memory). Here one is what the session finds,
    # the other by how much the first cask is nearer than the second.
    margins = casks(Target("Above", (TargetLine("note 0", 100.0, 5.0),)), (40, 40), (25, 9), 1)
    found = cost_of(margins, np.array([4.0, 0.0]), 20_000, 1)
    r = (4.0 / 5.0) * 5.0 / np.sqrt(25.0 + 9.0)
    assert found.belongs[0] == pytest.approx(0.5, abs=0.02)
    assert found.if_better[0] == pytest.approx(0.5 + np.arcsin(r) / np.pi, abs=0.02)
    assert found.if_better[1] == found.if_worse[1] == found.belongs[1], "nothing is told of it"


def held_to_be(mean: Floats, sd: Floats, aim: float) -> Floats:
    """Points off on average of normals, by many quantiles of each."""
    z = np.random.default_rng(1).standard_normal(400)
    found: Floats = np.abs(mean[..., None] + sd[:, None] * z - aim).mean(axis=-1)
    return found


@pytest.mark.slow
@pytest.mark.parametrize("aim", [40.0, 75.0])
def test_the_two_are_those_of_worlds_whose_glasses_found_it_so(aim: float) -> None:
    # A world a draw: what the casks are, what a look of known error reads, what Bayes' rule then
    # holds of each, and whether that is nearer than before.
    mean, before = np.array([36.0, 43.0, 39.0, 47.0, 33.0, 49.0]), np.full(6, 25.0)
    look, rng = np.array([9.0, 16.0, 25.0, 9.0, 16.0, 9.0]), np.random.default_rng(3)
    margins = casks(Target("Mid", (TargetLine("note 0", aim, 5.0),)), mean.tolist(), [25.0] * 6, 2)
    margins.states.common[:] = 0.0
    after = 1.0 / (1.0 / before + 1.0 / look)
    true = rng.normal(mean, np.sqrt(before), (20_000, 6))
    read = rng.normal(true, np.sqrt(look))
    then = held_to_be(after * (mean / before + read / look), np.sqrt(after), aim)
    better = then < np.median(then, axis=0)
    nearest = np.argsort(np.abs(true - aim), axis=1)[:, :2]
    among = (nearest[:, :, None] == np.arange(6)).any(axis=1)
    found = cost_of(margins, then.std(axis=0), 5000, 1)
    for told, of in ((found.if_better, better), (found.if_worse, ~better)):
        wanted = (among & of).sum(axis=0) / of.sum(axis=0)
        assert told == pytest.approx(wanted, abs=0.05)


def in_the_middle(cost: Cost) -> bool:
    middle = 0.5 * (cost.if_better + cost.if_worse)
    return bool(np.all(np.abs(middle - cost.belongs) < 1e-9))


def test_today_lies_between_the_two_and_in_their_middle() -> None:
    margins = made_up(40)
    found = cost_of(margins, 0.8 * np.sqrt(margins.variance), 1000, 1)
    assert in_the_middle(found)
    some = (found.belongs > 0.01) & (found.belongs < 0.99)
    assert some.sum() >= 4
    assert np.all(found.if_better[some] > found.belongs[some])
    assert np.all(found.if_worse >= 0.0)
    assert np.all(found.if_better <= 1.0)


def test_every_cask_that_is_poured_is_told_so() -> None:
    found = next_for_target(known_house(), FEN, 3, Room(dict.fromkeys("ABCD", 4), pool=6))
    for one in found.casks:
        now, better, worse = one.reason.chance, one.reason.if_better, one.reason.if_worse
        assert now is not None
        assert better is not None
        assert worse is not None
        assert worse <= now <= better
        assert now == pytest.approx((better + worse) / 2.0)
