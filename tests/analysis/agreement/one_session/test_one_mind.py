"""A note on which everybody agrees exactly has a word of its own, and is never unfit for it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import (
    Agreement,
    AgreementSettings,
    PanelWord,
    assess_agreement,
    assess_span,
)

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
