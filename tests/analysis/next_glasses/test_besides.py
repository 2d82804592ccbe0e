"""What a session moves though it stands in no glass of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.special

from analysis.next_glasses.besides import Besides, besides_of
from analysis.next_glasses.deciding import Cost, cost_of
from analysis.next_glasses.margins import margins_of
from analysis.target import Target, TargetLine
from tests.analysis.next_glasses.houses import NOTES, known_house, made_up


def _cost(aim: float, level: float) -> Cost:
    """Two casks that are known for certain, 2 points below 40 and 3 above it."""
    made = made_up(2, lines=1)
    mean, own = np.array([[38.0], [43.0]]), np.full((2, 1, 1), 1e-6)
    states = replace(made.states, mean=mean, own=own)
    margins = margins_of(states, Target("Fen", (TargetLine("note 0", aim, 5.0),)), 1)
    besides = Besides(np.array([level]), 1e-3)
    return cost_of(margins, np.zeros(2), 5000, 1, told=np.zeros((2, 1)), besides=besides)


def test_casks_on_either_side_of_an_aim_cross_when_the_panel_moves() -> None:
    # |3 + g| < |g - 2| where g < -1/2, g of variance 4.
    wanted = scipy.special.ndtr(-0.25)
    assert _cost(40.0, 4.0).crosses == pytest.approx([wanted, wanted], abs=0.01)


def test_beside_an_end_of_the_line_a_panel_that_moves_changes_nothing() -> None:
    assert _cost(100.0, 4.0).crosses.tolist() == [0.0, 0.0]


def test_a_level_moves_by_its_share_of_one_session_more() -> None:
    known = known_house(sessions=6)
    found = besides_of(known, NOTES, "ABC")
    assert found.level == pytest.approx(known.common(NOTES) / 7.0)
    assert found.level.min() > 0.0
    assert found.share == pytest.approx((0.8 / 6.0) ** 2)


def test_somebody_new_moves_the_level_of_the_panel() -> None:
    # The mean of six places on the line, and of eight of which two are new: drawn by hand.
    known = known_house(sessions=6)
    spread = [fit.variances["assessor"] for fit in known.profile.fits]
    places = np.random.default_rng(3).normal(0.0, 1.0, (40_000, 8))
    moved = (places.mean(axis=1) - places[:, :6].mean(axis=1)).var()
    more = besides_of(known, NOTES, "ABXY").level - besides_of(known, NOTES, "AB").level
    assert more == pytest.approx(moved * np.array(spread), rel=0.03)
