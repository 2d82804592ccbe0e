"""When a chart is said to move, which way, by how much and since when."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.agreement import Drift, reference_drift
from analysis.agreement.sessions.drift import DriftPoint, _judged
from analysis.agreement.verdict.drift import Direction
from tests.analysis.agreement.sessions.test_drift import NOTES, references

AVERAGES = (0.0, -0.5, -2.0, -0.5, 1.0, 2.5)
CHART = Drift(
    assessor="A",
    descriptor="smoke",
    n_sessions=6,
    slope_per_session=2.0,
    p=0.01,
    sd=2.0,
    average=2.5,
    limit=2.0,
    note=None,
    reason=None,
    points=tuple(DriftPoint(f"S{at}", None, 0.0, each) for at, each in enumerate(AVERAGES)),
    p_adjusted=0.2,
)


@pytest.mark.parametrize(
    ("told", "way"),
    [
        ({}, Direction.UPWARD),
        ({"slope_per_session": -2.0, "average": -2.5}, Direction.DOWNWARD),
        ({"p": 0.05}, Direction.UPWARD),
        ({"p": 0.051}, None),
        ({"average": 2.0}, None),
        ({"average": 2.0, "p_adjusted": 0.05}, Direction.UPWARD),
        ({"average": 2.0, "p_adjusted": 0.051}, None),
        ({"average": -2.5}, None),
        ({"average": -2.5, "p_adjusted": 0.01}, None),
        ({"p_adjusted": None}, None),
    ],
)
def test_who_is_said_to_move(told: dict[str, Any], way: Direction | None) -> None:
    """The line alone where it stands among all charts; else it and the average together."""
    assert _judged(replace(CHART, **told), 0.05).direction is way


@pytest.mark.parametrize(("slope", "average", "since"), [(2.0, 2.5, "S2"), (-2.0, -2.5, "S5")])
def test_since_the_average_turned(slope: float, average: float, since: str) -> None:
    """Upward since the average was lowest, downward since it was highest."""
    chart = replace(CHART, slope_per_session=slope, average=average)
    assert _judged(chart, 0.05).since == since


def test_six_references_are_five_steps() -> None:
    """2 points a session from the first of six to the last: 10 points."""
    assert "10 points over 6 hidden references" in (_judged(CHART, 0.05).sentence or "")


@pytest.mark.parametrize(("n", "charted"), [(5, False), (6, True)])
def test_six_references_are_enough(n: int, charted: bool) -> None:
    """Five leave three degrees of freedom and no chart."""
    found = reference_drift(references(n=n), NOTES)
    assert found
    assert all((part.p is not None) is charted for part in found)
