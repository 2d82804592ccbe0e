"""What could change about a vatting: held against closed forms and a reference library."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import scipy.stats

from analysis.next_glasses import BLEND, PanelNoise
from analysis.next_glasses.blend import BlendWeighing, VatLines, vat_lines
from analysis.next_glasses.vat_hangs import (
    chance_of_turning,
    chance_within,
    moves_alone,
    shares_of,
)
from analysis.target import Target, TargetLine
from analysis.vatting import MixingRule
from tests.analysis.next_glasses.houses import made_up

ERROR = 0.015
"""Four standard errors of a chance by so many draws."""


def _vatting(
    litres: Sequence[float], *, lines: int = 2, shared: float = 0.0, aim: float = 42.0
) -> VatLines:
    """Parts of some litres and strength alike; the mixture is expected at 40."""
    states = made_up(len(litres), lines=lines).states
    states = replace(
        states,
        mean=np.full((len(litres), lines), 40.0),
        shared=np.full((len(litres), lines, 1), shared),
    )
    target = Target("One", tuple(TargetLine(note, aim, 4.0) for note in states.notes))
    return vat_lines(states, target, np.array(litres), MixingRule())


def test_the_chance_is_that_of_the_normal_of_all_lines() -> None:
    """Against scipy's distribution function of the same normal."""
    lines = _vatting((30.0, 10.0, 5.0))
    covariance = lines.whole(lines.states.own) + np.diag(lines.states.common)
    normal = scipy.stats.multivariate_normal(lines.mean, covariance)
    asked = normal.cdf(lines.high, lower_limit=lines.low)
    assert chance_within(lines, 1) == pytest.approx(float(asked), abs=ERROR)


@pytest.mark.parametrize("shared", [0.0, 1.5])
def test_the_shares_of_parts_rule_and_panel_make_one(shared: float) -> None:
    """Parts known equally well count by the square of their litres, where they share nothing."""
    lines = _vatting((30.0, 10.0, 5.0), shared=shared)
    own = np.broadcast_to(np.eye(2) * 16.0, lines.states.own.shape)
    lines = replace(lines, states=replace(lines.states, own=own))
    parts, rule, panel = shares_of(lines, 0)
    assert parts.sum() + rule + panel == pytest.approx(1.0)
    assert (rule, panel) == pytest.approx((lines.rule[0], 1.0) / lines.variance[0])
    if shared == 0.0:
        assert parts[0] / parts[1] == pytest.approx(9.0)
    else:  # litres in their first power count for what all parts share alike
        first, other = (16.0 * w**2 + shared**2 * w for w in (30.0 / 45.0, 10.0 / 45.0))
        assert parts[0] / parts[1] == pytest.approx(first / other)


@pytest.mark.parametrize("aim", [42.0, 46.0])
def test_a_session_turns_one_line_as_often_as_it_moves_it_over_an_end(aim: float) -> None:
    """Of one line in closed form: the mean moves by N(0, what the session takes away)."""
    lines = _vatting((30.0, 10.0), lines=1, aim=aim)
    then = lines.whole(lines.states.own) * 0.4
    moved = scipy.stats.norm(lines.mean[0], np.sqrt(then[0, 0] * 1.5))
    inside = moved.cdf(lines.high[0]) - moved.cdf(lines.low[0])
    asked = 1.0 - inside if lines.within.all() else inside
    assert chance_of_turning(lines, then, 1) == pytest.approx(float(asked), abs=ERROR)


def test_a_session_without_a_glass_turns_nothing() -> None:
    lines = _vatting((30.0, 10.0, 5.0))
    assert chance_of_turning(lines, lines.whole(lines.states.own), 1) == 0.0


def test_of_parts_alike_a_glass_of_the_larger_moves_the_line_more() -> None:
    lines = _vatting((30.0, 10.0), lines=1)
    own = np.full((2, 1, 1), 16.0)
    lines = replace(lines, states=replace(lines.states, own=own))
    one = np.ones((1, 1))
    panel = PanelNoise(("A",), lines.notes, one, 100.0 * one, np.zeros(1))
    before = BlendWeighing(lines, [*lines.names, BLEND], panel, np.zeros((3, 1, 1)))
    larger, smaller, blend = moves_alone(before, 0)[:, 0]
    assert larger / smaller == pytest.approx(3.0, rel=1e-3)
    assert blend > larger


def test_sessions_that_are_held_turn_it_as_often_as_was_told() -> None:
    """Parts, rule and glasses drawn; each vatting expected anew by regression on its glasses."""
    lines = _vatting((30.0, 10.0, 5.0), aim=41.0)
    panel = PanelNoise(("A", "B"), lines.notes, np.ones((2, 2)), np.full((2, 2), 12.0), np.zeros(2))
    weighing = BlendWeighing(lines, [*lines.names, BLEND], panel, np.zeros((4, 2, 2)))
    for row, who in ((0, 0), (0, 1), (3, 1)):
        weighing.pour(row, who)
    told = chance_of_turning(lines, weighing.whole_after(), 1)
    n, rng = 20_000, np.random.default_rng(5)
    known = replace(lines.states, common=np.zeros(2))  # no glass tells of the panel as a whole
    parts = known.draws(n, rng) - known.mean
    own = np.einsum("nid,id->nd", parts, lines.counts_for)
    mixed = own + rng.standard_normal((n, 2)) * np.sqrt(lines.rule)
    noise = rng.standard_normal((3, n, 2)) * np.sqrt(12.0)
    glasses = np.hstack([parts[:, 0] + noise[0], parts[:, 0] + noise[1], mixed + noise[2]])
    found, *_ = np.linalg.lstsq(glasses, mixed, rcond=None)
    after = lines.mean + glasses @ found
    out = ~((after >= lines.low) & (after <= lines.high)).all(axis=1)
    assert bool(lines.within.all())
    assert 0.03 < told < 0.9
    assert float(out.mean()) == pytest.approx(told, abs=ERROR)
