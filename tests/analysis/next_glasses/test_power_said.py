"""What the program would say of two casks: told beforehand as it is said afterwards."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from analysis.agreement.indices.distributions import t_upper
from analysis.agreement.indices.flight import over_visits
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.pair import PairSpan, pair_span
from analysis.next_glasses import Design, power_table
from analysis.next_glasses.power_exact import ALPHA
from analysis.next_glasses.power_result import PanelAs
from analysis.next_glasses.power_said import said_of_two

TOLERANCE = 10.0
UNLIKE = PanelAs("smoke", (0.8, 1.2), (80.0, 120.0), 0.0, 81.0)
AT_ODDS = PanelAs("smoke", (0.8, 1.0, 1.2), (80.0, 100.0, 120.0), 30.0, 81.0)
KINDS = (
    PanelAs("smoke", (1.0,), (100.0,), 0.0, 81.0),
    PanelAs("smoke", (1.0,), (100.0,), 30.0, 81.0),
    UNLIKE,
    AT_ODDS,
    PanelAs("smoke", (0.6, 1.0, 1.4, 1.0), (400.0, 60.0, 90.0, 50.0), 9.0, 30.0),
)


def spans(panel: PanelAs, design: Design, points: float, worlds: int) -> list[tuple[PairSpan, int]]:
    """What the program's own rule makes of drawn sessions, with its degrees of freedom."""
    rng = np.random.default_rng(5)
    shape = (design.assessors, design.samples)
    who, glass = (part.ravel() for part in np.indices(shape))
    people = tuple(f"P{i}" for i in range(shape[0]))
    names = tuple(f"x{i}" for i in range(shape[1]))
    scale, noise = (part[:, None] for part in panel.people(shape[0]))
    found = []
    for _ in range(worlds):
        true = np.sqrt(panel.between) * rng.standard_normal(shape[1])
        true[:2] = true[:2].mean() + np.array([points, -points]) / 2.0
        own = scale * true + np.sqrt(panel.disagreement) * rng.standard_normal(shape)
        layouts = [
            ScoreLayout(
                people,
                names,
                who,
                glass,
                (own + np.sqrt(noise) * rng.standard_normal(shape)).ravel(),
            )
            for _ in range(design.sessions)
        ]
        visits = over_visits(layouts, names)
        assert visits is not None
        span = pair_span(visits.fit, names, ("x0", "x1"), TOLERANCE, visits.error)
        assert span is not None
        found.append((span, visits.df))
    return found


@pytest.mark.parametrize(
    ("panel", "design", "points"),
    [
        (UNLIKE, Design(2, 6, 4), 20.0),
        (AT_ODDS, Design(3, 4, 8), 20.0),
        (AT_ODDS, Design(2, 6, 1), 30.0),
        (KINDS[1], Design(2, 3, 8), 10.0),
    ],
)
def test_it_is_told_as_often_as_the_program_says_it(
    panel: PanelAs, design: Design, points: float
) -> None:
    drawn = spans(panel, design, points, 400)
    told = said_of_two(panel, design)
    apart = np.mean([span.p_apart <= 0.05 for span, _ in drawn])
    found = np.mean(
        [2.0 * t_upper(abs(span.difference) / span.se, df) <= 0.05 for span, df in drawn]
    )
    most = 4.0 * 0.5 / np.sqrt(400)
    assert abs(told.apart(points, TOLERANCE)[0] - apart) < most
    assert abs(told.found(points, TOLERANCE)[0] - found) < most


@pytest.mark.parametrize("design", [Design(2, 2, 4), Design(2, 3, 8), Design(2, 6, 16)])
def test_two_people_at_odds_are_hardly_ever_surely_wrong(design: Design) -> None:
    """Their means tell little of how far they are off: the t of single scores would not do."""
    panel = PanelAs("smoke", (1.0,), (36.0,), 100.0, 81.0)
    told, _ = said_of_two(panel, design).apart(TOLERANCE, TOLERANCE)
    assert told < 0.065


@pytest.mark.parametrize("panel", KINDS)
@pytest.mark.parametrize("people", [2, 3, 4])
def test_whoever_is_called_apart_was_found_and_sessions_lower_nothing(
    panel: PanelAs, people: int
) -> None:
    """But what errors alone come to, and what hangs on one degree of freedom of people's means."""
    for samples in (2, 6):
        rises = (people - 1) * (samples - 1) > 1
        each = [said_of_two(panel, Design(people, samples, n)) for n in (1, 2, 4, 8, 16)]
        for points in (15.0, 20.0, 30.0):
            found = [said.found(points, TOLERANCE) for said in each]
            apart = [said.apart(points, TOLERANCE) for said in each]
            assert all(a[0] <= f[0] for a, f in zip(apart, found, strict=True))
            for chances in (found, apart) if rises else ():
                for (less, before), (more, after) in pairwise(chances):
                    assert less <= 2.0 * ALPHA or more >= less - 4.0 * (before + after)


def test_two_people_who_read_unlike_see_what_they_call_apart() -> None:
    few, many = (said_of_two(UNLIKE, Design(2, 6, n)) for n in (8, 16))
    assert few.found(30.0, TOLERANCE)[0] > 0.95
    assert many.found(30.0, TOLERANCE)[0] >= few.found(30.0, TOLERANCE)[0]


def test_least_is_what_is_said_eight_times_in_ten_or_nothing() -> None:
    said = said_of_two(AT_ODDS, Design(3, 6, 4))
    least = said.smallest_apart(TOLERANCE)
    assert least is not None
    assert said.apart(least, TOLERANCE)[0] == pytest.approx(0.8, abs=1e-6)
    assert said_of_two(KINDS[4], Design(2, 2, 1)).smallest_apart(TOLERANCE) is None
    with pytest.raises(ValueError, match="two people"):
        said_of_two(UNLIKE, Design(1, 6, 4))


def test_a_row_tells_both_by_one_error() -> None:
    (row,) = power_table(None, [Design(2, 6, 16)], notes=["smoke"], points=30.0).rows_of
    assert row.simulated is not None
    assert row.beyond is not None
    assert row.exact is not None
    assert row.beyond <= row.simulated
    assert row.exact == pytest.approx(row.simulated, abs=0.02)
