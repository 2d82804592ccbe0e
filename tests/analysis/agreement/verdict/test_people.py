"""The word for an assessor: which of the glasses, the line and the rule comes first, and when."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.agreement.verdict.people import NoteFacts, PersonFacts, assessor_verdict
from analysis.agreement.verdict.words import AT_THE_REVEAL, MORE_IS_NOT_IT, AssessorWord

WORD = AssessorWord
PASSED = PersonFacts(
    passed=True,
    habit=None,
    scale=1.4,
    unsteady=1.7,
    correlation=0.7,
    n_told=6,
    more=None,
    short=False,
    signal_share=None,
    n_missing=0,
    repeats_within=9.0,
    hidden=False,
)


def notes(*words: AssessorWord | None) -> list[NoteFacts]:
    return [
        NoteFacts(f"note {at}", word, True, 30.0, 20.0, 15.0, 8.0) for at, word in enumerate(words)
    ]


WITH5 = (WORD.WITH,) * 5


@pytest.mark.parametrize(
    ("words", "told", "word"),
    [
        (WITH5, {}, WORD.WITH),
        # One note in three the other way round: first of all the glass is looked for.
        ((WORD.REVERSED, WORD.WITH, WORD.WITH), {}, WORD.REVERSED),
        ((WORD.REVERSED, WORD.WITH, WORD.WITH, WORD.WITH), {}, WORD.WITH),
        ((WORD.REVERSED, WORD.WITH, WORD.WITH, None, None), {}, WORD.REVERSED),
        ((WORD.REVERSED, *WITH5), {"passed": False}, WORD.REVERSED),
        ((WORD.REVERSED, *WITH5), {"passed": False, "habit": WORD.WIDER}, WORD.REVERSED),
        ((WORD.FLAT, WORD.FLAT, WORD.WITH), {}, WORD.WITH),
        ((WORD.FLAT, *WITH5), {"passed": False}, WORD.FLAT),
        ((WORD.FLAT, WORD.REVERSED, *WITH5), {"passed": False}, WORD.REVERSED),
        (WITH5, {"habit": WORD.NARROWER}, WORD.NARROWER),
        (WITH5, {"habit": WORD.UNSTEADY, "passed": False}, WORD.UNSTEADY),
        (WITH5, {"passed": False}, WORD.TOO_LITTLE),
        (WITH5, {"passed": False, "more": 3}, WORD.CANNOT_TELL),
        (WITH5, {"passed": False, "short": True}, WORD.CANNOT_TELL),
        (WITH5, {"passed": False, "short": True, "correlation": None}, WORD.TOO_LITTLE),
    ],
)
def test_which_comes_first(
    words: tuple[AssessorWord | None, ...], told: dict[str, Any], word: AssessorWord
) -> None:
    assert assessor_verdict("Ada", notes(*words), replace(PASSED, **told)).word is word


@pytest.mark.parametrize(
    ("told", "action"),
    [
        ({"more": 3}, "let more sessions decide, of casks not poured so far"),
        ({"short": True}, MORE_IS_NOT_IT),
        ({}, "judge nobody by it: that takes five assessors"),
        ({"camps": ("wax",), "n_told": 0}, "nose the references together and agree"),
        ({"camps": ("wax",)}, "judge nobody by it"),
        ({"repeats_within": None, "hidden": True}, AT_THE_REVEAL),
        ({"repeats_within": None}, "pour two blind duplicates next time"),
    ],
)
def test_what_to_do_where_nothing_can_be_said(told: dict[str, Any], action: str) -> None:
    facts = replace(PASSED, passed=False, **told)
    assert assessor_verdict("Ada", notes(None), facts).next_action.startswith(action)


@pytest.mark.parametrize(
    ("words", "told", "said"),
    [
        (WITH5, {}, "reads with the panel on 5 of the 6 notes it told apart"),
        ((WORD.WITH,), {"n_told": 1}, "reads with the panel on the one note it told apart"),
        ((WORD.WIDER, WORD.NARROWER), {}, "on 2 of the 6 notes"),
        ((None,), {}, "over all notes together"),
        (WITH5, {"n_told": 0}, "over all notes together"),
        (WITH5, {"n_missing": 1}, "ask why 1 line was left blank"),
        (WITH5, {"n_missing": 2}, "ask why 2 lines were left blank"),
        ((*WITH5, WORD.UNSTEADY), {"n_missing": 2}, "less steady than the others on note 5"),
        ((WORD.FLAT, WORD.FLAT, WORD.WITH), {"passed": False}, "(and likewise on 1 more note)"),
        ((WORD.FLAT, WORD.WITH), {"passed": False}, "on note 0, 30 points in all: nose"),
        (WITH5, {}, "(correlation 0.70)"),
        (WITH5, {"signal_share": 0.5}, "(correlation 0.70, signal share 0.50 of late)"),
        (WITH5, {"correlation": None}, "it told apart: nothing to do"),
        ((WORD.UNSTEADY, WORD.FLAT, *WITH5), {}, "did not separate these glasses on note 1"),
    ],
)
def test_what_is_said(
    words: tuple[AssessorWord | None, ...], told: dict[str, Any], said: str
) -> None:
    assert said in assessor_verdict("Ada", notes(*words), replace(PASSED, **told)).sentence


@pytest.mark.parametrize(
    ("word", "span", "others", "shown"),
    [
        (WORD.WIDER, 30.0, 20.0, True),
        (WORD.WIDER, 20.0, 20.0, False),
        (WORD.NARROWER, 19.0, 20.0, True),
        (WORD.NARROWER, 20.0, 20.0, False),
        (WORD.WIDER, None, 20.0, False),
        (WORD.UNSTEADY, 20.0, None, True),
    ],
)
def test_a_habit_is_shown_on_a_note_whose_figures_show_it(
    word: AssessorWord, span: float | None, others: float | None, shown: bool
) -> None:
    """A line that is wider over all notes may be no wider on one of them."""
    (note,) = notes(word)
    facts = replace(PASSED, habit=word)
    said = assessor_verdict("Ada", [replace(note, span=span, others_span=others)], facts).said
    assert ("on note 0 where" in said) is shown
    other = WORD.UNSTEADY if word is not WORD.UNSTEADY else WORD.WIDER
    elsewhere = assessor_verdict("Ada", notes(other), facts).said
    assert "on note 0 where" not in elsewhere
