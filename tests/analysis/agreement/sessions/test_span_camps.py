"""Half a panel the other way round, session after session: nothing to act on, nobody to judge."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import (
    AgreementSettings,
    AssessorWord,
    PanelWord,
    Span,
    assess_span,
    over_sessions,
)
from analysis.agreement.verdict.over_sessions import (
    OverFacts,
    beside_evening,
    in_two_camps,
    over_sessions_verdict,
)
from analysis.agreement.verdict.span import span_descriptor_verdict
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=99, bootstraps=99)
HALF = ("P0", "P1", "P2", "P3")
NOTES = tuple(f"note {at}" for at in range(5))


def half_reversed(notes: Collection[str], who: Collection[str] = HALF) -> pd.DataFrame:
    """Three sessions of other casks, in which some have these notes the other way round."""
    parts = []
    for at in range(3):
        rows = Evening(n_notes=5, n_samples=8, spread=15.0, noise=8.0).scores(at)
        turned = rows["assessor"].isin(list(who)) & rows["descriptor"].isin(list(notes))
        rows["score"] = np.where(turned, 100.0 - rows["score"], rows["score"])
        day = f"2026-0{at + 1}-10"
        parts.append(rows.assign(session=f"S{at}", held_on=day, sample=f"{at} " + rows["sample"]))
    return pd.concat(parts, ignore_index=True)


@cache
def judged(notes: tuple[str, ...], who: tuple[str, ...] = HALF) -> Span:
    return assess_span(half_reversed(notes, who), settings=QUICK)


@pytest.mark.parametrize("note", NOTES)
def test_two_camps_in_every_session_are_two_camps_over_all_of_them(note: str) -> None:
    said = judged(NOTES).descriptor(note).verdict
    assert said.word is PanelWord.CAMPS
    assert "which end of the line is which" in said.next_action
    assert "which is right, it cannot tell" in said.said


def test_nobody_is_judged_by_a_note_that_is_in_two_camps() -> None:
    for person in judged(NOTES).assessors:
        assert person.verdict.word is AssessorWord.TOO_LITTLE
        assert "the panel is in two camps on note 0, note 1 and note 2 and 2 more" in (
            person.verdict.said
        )
        assert {part.verdict for part in person.notes} == {None}
        assert {part.reason for part in person.notes} == {"the panel is in two camps on this note"}


@pytest.mark.slow
def test_the_other_notes_judge_people_as_before() -> None:
    found = judged(("note 0",))
    assert found.descriptor("note 0").verdict.word is PanelWord.CAMPS
    for person in found.assessors:
        assert person.verdict.word is AssessorWord.WITH
        assert [part.verdict is None for part in person.notes] == [True, *[False] * 4]


@pytest.mark.slow
def test_the_head_line_asks_what_the_lines_below_ask() -> None:
    quiet = judged(())
    assert quiet.next_action == "nothing to change"
    assert judged(("note 0",)).next_action == "go through what is said below of note 0"
    odd = judged(("note 0",), ("P1",))
    assert odd.assessor("P1").verdict.word is AssessorWord.REVERSED
    assert odd.next_action.endswith("P1")


@pytest.mark.parametrize(
    ("evenings", "camps"),
    [
        ({PanelWord.CAMPS: 1}, True),
        ({PanelWord.CAMPS: 1, PanelWord.SAFE: 1}, False),
        ({PanelWord.CAMPS: 2, PanelWord.SAFE: 2}, True),
        ({PanelWord.CAMPS: 2, PanelWord.SAFE: 3}, False),
        ({}, False),
    ],
)
def test_how_many_sessions_make_two_camps(evenings: dict[PanelWord, int], camps: bool) -> None:
    over = OverFacts("must", 4, 30, 8, 8, 0.95, 0.9, 4.0)
    assert in_two_camps(evenings) is camps
    assert (over_sessions_verdict(over, evenings, QUICK).word is PanelWord.CAMPS) is camps
    said = span_descriptor_verdict("must", evenings, None, QUICK)
    assert (said.word is PanelWord.CAMPS) is camps


def test_an_evening_in_two_camps_is_not_outdone_by_a_reliability() -> None:
    over = OverFacts("must", 4, 30, 8, 8, 0.95, 0.9, 4.0)
    assert "0.95" not in beside_evening(over, PanelWord.CAMPS, QUICK)


def test_a_reliability_is_that_of_the_panel_as_it_sits() -> None:
    """Three sessions of five others each are no visit of fifteen."""
    parts = []
    for at in range(3):
        rows = Evening(n_notes=1, n_assessors=5, n_samples=8, noise=12.0).scores(at)
        names = {"assessor": f"{at}" + rows["assessor"], "sample": f"{at} " + rows["sample"]}
        parts.append(rows.assign(session=f"S{at}", held_on=f"2026-0{at + 1}-10", **names))
    scores = pd.concat(parts, ignore_index=True)
    known = over_sessions(scores, settings=QUICK)["note 0"]
    every = over_sessions(scores, settings=QUICK, panel=sorted(set(scores["assessor"])))["note 0"]
    assert (known.n_assessors, every.n_assessors) == (5, 15)
    odds = [
        part.reliability / (1.0 - part.reliability)
        for part in (known, every)
        if part.reliability is not None
    ]
    assert odds[1] == pytest.approx(3.0 * odds[0], rel=0.02)
    assert (known.reliability_low or 1.0) < (every.reliability_low or 0.0)
    said = assess_span(scores, settings=QUICK).descriptor("note 0").verdict.said
    assert "in one visit of 5 assessors" in said
