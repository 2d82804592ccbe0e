"""What is said of somebody who moved, to the lead and to that person."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.agreement.sessions.start_sums import clipped, running, spread, starts
from analysis.agreement.verdict.drift import Direction, DriftFacts, drift_verdict
from analysis.agreement.verdict.evening import OwnDrift, own_drift_sentence

FACTS = DriftFacts(
    assessor="A",
    descriptor="smoke",
    direction=Direction.DOWNWARD,
    since="2026-03-01",
    earliest="2026-02-01",
    latest="2026-04-01",
    moved=-8.2,
    low=-11.6,
    high=-5.1,
)


def test_date_size_and_their_bounds_are_said() -> None:
    said = drift_verdict(FACTS).sentence
    assert "moving downward on smoke since 2026-03-01" in said
    assert "(it began between 2026-02-01 and 2026-04-01)" in said
    assert "by about 8 points (5 to 12)" in said


def test_a_start_that_is_certain_has_no_bounds() -> None:
    facts = replace(FACTS, earliest="2026-03-01", latest="2026-03-01", descriptor=None)
    assert "all notes together since 2026-03-01, by about" in drift_verdict(facts).sentence


def test_the_panel_is_told_to_look_at_its_reference_first() -> None:
    verdict = drift_verdict(replace(FACTS, assessor=None))
    assert verdict.said.startswith("The panel as a whole has been moving downward")
    assert verdict.next_action.startswith("check the reference first")
    assert "a panel whose level wanders" in verdict.said


def test_a_person_is_told_of_themselves_alone() -> None:
    moved = OwnDrift(20, True, -8.2, (-11.6, -5.1), "2026-03-01", "2026-02-01", "2026-04-01")
    said = own_drift_sentence(moved)
    assert "about 8 points lower than you used to" in said
    assert "5 to 12 points hold it" in said
    assert "cannot be told yet, after 4 sessions" in own_drift_sentence(OwnDrift(4, False))
    assert "not surely moved over 20 sessions" in own_drift_sentence(OwnDrift(20, True))


def test_a_noise_that_wanders_is_taken_for_greater() -> None:
    rng = np.random.default_rng(1)
    level = np.zeros(60, dtype=int)
    steady = rng.normal(0.0, 4.0, 60)
    wanders = np.cumsum(rng.normal(0.0, 4.0, 60))
    assert spread(steady, level).sd == pytest.approx(4.0, rel=0.3)
    found = spread(wanders, level)
    assert found.alike > 0.3
    assert found.sd > 1.3 * found.plain


def test_what_is_known_of_a_noise_counts_for_so_many_sessions() -> None:
    level, value = np.zeros(13, dtype=int), np.random.default_rng(2).normal(0.0, 4.0, 13)
    own = spread(value, level).plain ** 2
    assert spread(value, level, 100.0, 10.0).plain ** 2 == pytest.approx((own + 100.0) / 2.0)


def test_a_far_session_is_drawn_in_and_a_step_is_not() -> None:
    level = np.zeros(11, dtype=int)
    value = np.array([0.0] * 5 + [40.0] + [0.0] * 5)
    assert clipped(value, level, 2.0).max() == 5.0
    step = np.array([0.0] * 5 + [40.0] * 6)
    assert clipped(step, level, 2.0).tolist() == step.tolist()


def test_the_running_sum_knows_no_later_session() -> None:
    value = np.random.default_rng(3).normal(0.0, 4.0, 12)
    level = np.zeros(12, dtype=int)
    sums = running(value, level, 4.0)
    assert sums[7] == pytest.approx(starts(value[:8], level[:8], 4.0).evidence)
