"""A note on which everybody agrees exactly has a word of its own, and is never unfit for it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import (
    Agreement,
    AgreementSettings,
    AssessorWord,
    PanelWord,
    assess_agreement,
    assess_span,
)
from analysis.agreement.indices.repeat import repeatability
from analysis.agreement.one_session.assessors import PanelSlope, reading
from analysis.agreement.one_session.standing import Standing
from analysis.agreement.one_session.with_panel import WithPanel
from analysis.agreement.sessions.over_sessions import NoteOverSessions
from analysis.agreement.sessions.span_reads import by_slopes
from analysis.agreement.sessions.span_scores import SpanScores
from analysis.agreement.verdict.evening import together_sentence

QUICK = AgreementSettings(permutations=99, bootstraps=19)
COLUMNS = ["session", "held_on", "assessor", "sample", "replicate", "descriptor", "score"]


def rows(
    *, twice: int = 2, offset: int = 0, step: int = 10, hole: bool = False, session: str = "S1"
) -> pd.DataFrame:
    """Six assessors who put six samples `step` apart to the point, each `offset` above the last."""
    rng = np.random.default_rng(4)
    found = []
    for k, who in enumerate("ABCDEF"):
        for s in range(6):
            if hole and (k, s) == (2, 4):
                continue
            for r in (1, 2) if s < twice else (1,):
                glass = (session, "2026-01-10", who, f"{session}x{s}", r)
                found.append((*glass, "fault", 20 + step * s + offset * k))
                found.append((*glass, "smoke", round(np.clip(12 * s + rng.normal(15, 5), 0, 100))))
    return pd.DataFrame(found, columns=COLUMNS)


def judged(scores: pd.DataFrame) -> Agreement:
    return assess_agreement(scores, settings=QUICK)


@pytest.mark.parametrize("twice", [2, 6])
@pytest.mark.parametrize("offset", [0, 3])
@pytest.mark.parametrize("hole", [False, True])
def test_all_of_one_mind(twice: int, offset: int, hole: bool) -> None:
    """Six samples 10 apart: 50 points from lowest to highest, counted by hand."""
    said = judged(rows(twice=twice, offset=offset, hole=hole)).descriptor("fault").verdict
    assert said.word is PanelWord.ONE_MIND
    assert "50 points from lowest to highest" in said.said
    assert "again" not in said.sentence
    assert ".:" not in said.sentence


@pytest.mark.parametrize("twice", [2, 6])
@pytest.mark.parametrize("offset", [0, 3])
def test_who_gives_every_glass_the_same_finds_them_alike(twice: int, offset: int) -> None:
    said = judged(rows(twice=twice, offset=offset, step=0)).descriptor("fault").verdict
    assert said.word is PanelWord.ALIKE
    assert "nobody scored one unlike another" in said.said


def test_a_session_and_several_of_one_mind() -> None:
    one = rows()
    fault = one[one["descriptor"] == "fault"]
    assert judged(fault).verdict.word is PanelWord.ONE_MIND
    again = rows(session="S2")
    both = pd.concat([fault, again[again["descriptor"] == "fault"]])
    span = assess_span(both, settings=QUICK)
    assert [line.verdict and line.verdict.word for line in span.sessions] == [
        PanelWord.ONE_MIND,
        PanelWord.ONE_MIND,
    ]
    assert f"{PanelWord.ONE_MIND} in 2" in span.descriptor("fault").verdict.said
    assert "nose it again" not in span.sentence


def test_one_point_of_difference_is_an_error_to_reckon_by() -> None:
    scores = rows()
    at = scores.index[scores["descriptor"] == "fault"][3]
    scores.loc[at, "score"] += 1
    assert judged(scores).descriptor("fault").verdict.word is PanelWord.SAFE


def test_a_fault_note_of_one_cask_stops_nothing_over_sessions() -> None:
    """50 in one cask and 0 in the rest, by everybody: slopes without an error to weigh them by."""
    parts = []
    for session in ("S1", "S2", "S3"):
        part = rows(session=session)
        at = part["descriptor"] == "fault"
        part.loc[at, "score"] = np.where(part.loc[at, "sample"] == f"{session}x2", 50.0, 0.0)
        parts.append(part)
    found = assess_span(pd.concat(parts), settings=QUICK)
    slopes = [
        note.slope
        for person in found.assessors
        for note in person.notes
        if note.descriptor == "fault"
    ]
    assert slopes == pytest.approx([1.0] * 6)


def test_who_is_exactly_as_the_others_is_as_sure_as_can_be() -> None:
    """A standard error of nothing: chance 1, and no division by it."""
    same = PanelSlope(1.0, 1.0, 0.0, 1.0, 0.0)
    assert reading([same]).with_panel == pytest.approx(1.0)
    turned = PanelSlope(-1.0, -1.0, 0.0, -1.0, 0.0)
    assert reading([turned]).reversed == pytest.approx(1.0)


def test_an_exact_slope_goes_before_those_with_an_error() -> None:
    """No weight is infinite: of slopes 1 without an error and 2 with one it is 1."""
    slopes = {"P0": [PanelSlope(1.0, 1.0, 0.0, 1.0, 0.0), PanelSlope(0.9, 2.0, 0.5, 2.0, 0.5)]}
    note = SpanScores(
        descriptor="fault",
        slopes=slopes,
        told=(),
        visits=(),
        repeat=repeatability([]),
        n_scores={"P0": 12},
        over=NoteOverSessions("fault", 2, 12, mostly_zero=True),
    )
    passed = Standing(reading=WithPanel(passed=True))
    found = by_slopes("P0", note, passed, 6, QUICK)
    assert found.slope == 1.0
    assert found.word is AssessorWord.WITH


def test_three_people_judge_nobody_for_their_number() -> None:
    """They told every note apart: what is lacking is people, and that is what is said."""
    three = rows()
    found = judged(three[three["assessor"].isin(["A", "B", "C"])])
    for person in found.assessors:
        assert "takes five assessors" in person.verdict.next_action
        assert "so little apart" not in person.verdict.sentence
    assert "too small" in together_sentence(0)
