"""What is said of a person over sessions holds over all notes; rates in tests/bench/word_rates."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, AssessorWord, Span, assess_span
from analysis.agreement.one_session.standing import Standing
from analysis.agreement.one_session.with_panel import Told, WithPanel, reads_with
from analysis.agreement.sessions.over_sessions import PersonOverSessions
from analysis.agreement.sessions.span_reads import Read, by_model, by_slopes
from analysis.agreement.verdict.span_person import (
    AssessorVerdict,
    SpanNoteFacts,
    SpanPersonFacts,
    span_assessor_verdict,
)
from analysis.agreement.verdict.words import Verdict
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=199, bootstraps=19)
KNOWN = SpanPersonFacts(
    passed=False,
    against=False,
    habit=None,
    scale=1.0,
    unsteady=1.0,
    correlation=0.1,
    n_told=30,
    more=None,
    short=True,
    n_sessions=5,
    missing_rate=0.0,
)
MODEL = PersonOverSessions(
    assessor="P0",
    n_sessions=5,
    n_scores=60,
    signal_share=0.1,
    p_with=0.0,
    scale=-0.5,
    scale_low=-0.9,
    scale_high=-0.1,
    noise=9.0,
    usual_noise=8.0,
    p_unsteady=0.0,
    p_flat=0.1,
    p_reversed=0.9,
)


def evenings(seed: int = 1, **first: float) -> pd.DataFrame:
    """Four sessions of other casks, in which P0 is given as `turned` or `narrow` would be."""
    parts = []
    for at in range(4):
        part = Evening(session=f"S{at}", n_samples=6, n_notes=6, spread=10.0, noise=8.0)
        rows = part.scores(100 * seed + at).assign(held_on=f"2026-0{at + 1}-10")
        own = rows["assessor"] == "P0"
        rows.loc[own, "score"] = (50.0 + first["line"] * (rows["score"] - 50.0))[own].round()
        parts.append(rows.assign(sample=f"S{at}" + rows["sample"]))
    return pd.concat(parts, ignore_index=True)


def judged(scores: pd.DataFrame) -> Span:
    return assess_span(scores, settings=QUICK)


@pytest.mark.slow
def test_a_narrow_line_is_said_once_for_all_notes() -> None:
    said = judged(evenings(line=0.5)).assessor("P0").verdict
    assert said.word is AssessorWord.NARROWER
    assert "points for one of the others' over all notes" in said.said


@pytest.mark.slow
def test_who_reads_nothing_is_not_too_little_to_call() -> None:
    scores = evenings(line=1.0)
    own = scores["assessor"] == "P0"
    rng = np.random.default_rng(3)
    drawn = rng.normal(50.0, 6.0, int(own.sum()))
    scores.loc[own, "score"] = drawn.clip(0.0, 100.0).round()
    said = judged(scores).assessor("P0").verdict
    assert said.word is AssessorWord.CANNOT_TELL
    assert "correlation" in said.said
    assert "more sessions alone would not decide it" in said.next_action


@pytest.mark.slow
def test_the_other_way_round_on_all_notes() -> None:
    said = judged(evenings(line=-1.0)).assessor("P0").verdict
    assert said.word is AssessorWord.REVERSED


@pytest.mark.parametrize(("n_notes", "said"), [(1, True), (2, False), (6, False)])
def test_one_note_reversed_of_six_has_to_stand_among_them(n_notes: int, said: bool) -> None:
    """At a chance of .9: above .8 for one note, not above 1 - .2 / 2 or 1 - .2 / 6, by hand."""
    found = by_model(MODEL, Standing(), n_notes, QUICK).word
    assert (found is AssessorWord.REVERSED) is said
    against = Standing(reading=WithPanel(against=True))
    assert by_model(MODEL, against, n_notes, QUICK).word is AssessorWord.REVERSED


@pytest.mark.parametrize(
    ("person", "word", "said"),
    [
        (KNOWN, AssessorWord.CANNOT_TELL, "more sessions alone would not decide it"),
        (
            replace(KNOWN, short=False, more=3),
            AssessorWord.CANNOT_TELL,
            "of casks not poured so far",
        ),
        (
            replace(KNOWN, n_told=0, correlation=None),
            AssessorWord.TOO_LITTLE,
            "nobody can be judged",
        ),
        (replace(KNOWN, passed=True), AssessorWord.WITH, "over all notes together over 5"),
        (replace(KNOWN, against=True), AssessorWord.REVERSED, "the notes taken together"),
        (
            replace(KNOWN, passed=True, habit=AssessorWord.WIDER, scale=1.5),
            AssessorWord.WIDER,
            "but uses a wider line, 1.5 points for one of the others' over all notes",
        ),
        (
            replace(KNOWN, habit=AssessorWord.UNSTEADY, unsteady=2.5),
            AssessorWord.UNSTEADY,
            "2.5 times as far from one nosing to the next",
        ),
    ],
)
def test_what_is_said_of_a_person(person: SpanPersonFacts, word: AssessorWord, said: str) -> None:
    found = span_assessor_verdict("P0", [], person, None)
    assert found.word is word
    assert said in found.sentence


def test_a_note_goes_with_what_is_said_of_the_person() -> None:
    note = SpanNoteFacts("smoke", AssessorWord.NARROWER, 5, 0.5, 9.0, 8.0, None)
    person = replace(KNOWN, passed=True, habit=AssessorWord.NARROWER, scale=0.6)
    said = span_assessor_verdict("P0", [note], person, None).said
    assert "on 1 note over 5 sessions" in said
    assert "(0.5 on smoke)" in said


def up(on: str) -> AssessorVerdict:
    return Verdict(AssessorWord.MOVING_UP, f"P0 moves upward on {on}", "nose the reference")


def moving_on(descriptor: str) -> SpanNoteFacts:
    """A note on which somebody moves."""
    return SpanNoteFacts(descriptor, AssessorWord.WITH, 5, 1.0, 9.0, 8.0, up(descriptor))


TURNED = SpanNoteFacts("wax", AssessorWord.REVERSED, 4, -1.0, 9.0, 8.0, None)
WELL, WIDE = (replace(KNOWN, passed=True, habit=habit) for habit in (None, AssessorWord.WIDER))


@pytest.mark.parametrize(
    ("notes", "person", "moving", "said"),
    [
        ([moving_on("smoke")], WELL, None, "P0 moves upward on smoke"),
        (
            [moving_on("smoke"), moving_on("plum")],
            WELL,
            None,
            "P0 moves upward on smoke (and likewise on plum)",
        ),
        ([], WELL, up("all notes"), "P0 moves upward on all notes"),
        ([moving_on("smoke")], WELL, up("all notes"), "P0 moves upward on all notes"),
        ([moving_on("smoke")], WIDE, None, "P0 moves upward on smoke"),
        (
            [moving_on("smoke"), TURNED],
            WELL,
            up("all notes"),
            "P0 has wax the opposite way round over 4 sessions",
        ),
    ],
)
def test_what_needs_talking_about_first(
    notes: list[SpanNoteFacts], person: SpanPersonFacts, moving: AssessorVerdict | None, said: str
) -> None:
    assert span_assessor_verdict("P0", notes, person, moving).said == said


@pytest.mark.parametrize(
    ("rate", "action"), [(0.05, "nothing to do"), (0.051, "ask why 5 in 100 lines were left blank")]
)
def test_lines_left_blank_are_asked_about_beyond_one_in_twenty(rate: float, action: str) -> None:
    found = span_assessor_verdict("P0", [], replace(WELL, missing_rate=rate), None)
    assert found.next_action == action


def test_a_note_that_tells_nothing_of_a_person_says_why() -> None:
    """No slope of any session is known; a note in two camps judges nobody even with slopes."""
    note = SimpleNamespace(in_camps=False, slopes={}, repeat=SimpleNamespace(assessors={}))
    note.over = SimpleNamespace(mostly_zero=False)
    found = by_slopes("P0", cast(Any, note), Standing(), 1, QUICK)
    reason = "the panel told the samples apart on it in no session this assessor was in"
    assert found == Read(None, 0, None, reason)
    note.in_camps, note.slopes = True, {"P0": ()}
    found = by_slopes("P0", cast(Any, note), Standing(), 1, QUICK)
    assert found == Read(None, 0, None, "the panel is in two camps on this note")


def told(own: np.ndarray, others: np.ndarray) -> Told:
    return Told(tuple("abcdefgh"), own, others, 4.0, 7, 50.0)


def test_against_the_panel_is_beyond_chance_too() -> None:
    """The reverse of the others to the last glass, and one that has nothing to do with them."""
    rng = np.random.default_rng(8)
    others, free = rng.normal(size=(2, 8)) * 20.0
    turned = reads_with([[told(-others, others)] * 3], QUICK)
    assert turned.against
    assert not turned.passed
    assert (turned.more, turned.short) == (None, False)
    loose = reads_with([[told(free, others)]], QUICK)
    assert not loose.against
    assert not loose.passed


def test_enough_is_known_of_somebody_who_falls_short() -> None:
    rng = np.random.default_rng(5)
    notes = [told(*rng.normal(size=(2, 8)) * 20.0) for _ in range(40)]
    found = reads_with([notes], QUICK)
    assert found.short
    assert found.more is None


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_two_casks_a_session_are_as_sure_as_their_orders_allow(n: int) -> None:
    """One half to the power of the sessions: from memory, five heads in a row are the first
    below .042, and nobody who reads as the others do is sent to the references."""
    rng = np.random.default_rng(4)
    sessions = []
    for at in range(n):
        others = np.array([20.0, 60.0])
        own = others + rng.normal(size=2)
        sessions.append([Told((f"{at}a", f"{at}b"), own, others, 4.0, 7, 50.0)])
    found = reads_with(sessions, QUICK)
    assert not found.passed
    assert (found.short, found.more) == (False, 5 - n)
