"""The word for a note over several sessions on either side of each threshold."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.agreement import AgreementSettings, AssessorWord
from analysis.agreement.one_session.assessors import ReadingOdds, _width
from analysis.agreement.verdict.over_sessions import OverFacts, reliability_word
from analysis.agreement.verdict.own_words import WordsFacts, words_session_verdict
from analysis.agreement.verdict.span import _SEE_WHY, span_sentence
from analysis.agreement.verdict.words import PanelWord

SOUND = OverFacts(
    descriptor="smoke",
    n_sessions=5,
    n_samples=20,
    n_duplicates=8,
    n_assessors=6,
    reliability=0.9,
    reliability_low=0.7,
    seen_difference=10.0,
)


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({"reliability": 0.8, "reliability_low": 0.65}, PanelWord.SAFE),
        ({"reliability": 0.799}, PanelWord.SECOND_LOOK),
        ({"reliability_low": 0.649}, PanelWord.SECOND_LOOK),
        ({"n_assessors": 5}, PanelWord.SAFE),
        ({"n_assessors": 4}, PanelWord.SECOND_LOOK),
        ({"n_samples": 6, "n_duplicates": 2}, PanelWord.SAFE),
        ({"n_samples": 5}, PanelWord.TOO_LITTLE),
        ({"n_duplicates": 1}, PanelWord.TOO_LITTLE),
        ({"reliability": 0.6, "alike": True}, PanelWord.SECOND_LOOK),
        ({"reliability": 0.599, "alike": True}, PanelWord.ALIKE),
        ({"reliability": 0.599, "seen_difference": 20.0}, PanelWord.CANNOT_TELL),
        ({"reliability": 0.599, "seen_difference": 20.1}, PanelWord.DO_NOT),
        ({"reliability": 0.599, "seen_difference": None}, PanelWord.DO_NOT),
    ],
)
def test_on_either_side_of_a_threshold(told: dict[str, Any], word: PanelWord) -> None:
    """What is not told is that of a sound note."""
    assert reliability_word(replace(SOUND, **told), AgreementSettings()) is word


DATES = ("2026-01-06", "2026-03-03")
WORD = PanelWord


@pytest.mark.parametrize(
    ("words", "moving", "word", "said"),
    [
        ({WORD.SAFE: 3, WORD.DO_NOT: 2}, (), WORD.SAFE, "3 safe to act on, 2 do not act on"),
        ({WORD.SAFE: 2, WORD.DO_NOT: 2}, (), WORD.DO_NOT, "2 safe to act on, 2 do not act on"),
        ({WORD.SAFE: 1, WORD.TOO_LITTLE: 1}, (), WORD.TOO_LITTLE, "1 safe to act on"),
        ({WORD.SAFE: 2, WORD.TOO_LITTLE: 1}, (), WORD.SAFE, "2 safe"),
        ({WORD.ORDER: 1, WORD.SAFE: 1}, (), WORD.ORDER, "1 safe"),
        ({WORD.ONE_MIND: 2, WORD.SAFE: 1}, (), WORD.ONE_MIND, "2 of one mind"),
        ({WORD.ONE_MIND: 1, WORD.SAFE: 1}, (), WORD.SECOND_LOOK, "1 of one mind"),
        ({WORD.ALIKE: 2}, (), WORD.CANNOT_TELL, "2 casks alike"),
        ({}, (), WORD.TOO_LITTLE, "none could be judged"),
        ({WORD.SAFE: 3}, ("A on wax",), WORD.SECOND_LOOK, "3 safe to act on; moving: A on wax"),
        ({WORD.SAFE: 3}, tuple("abcd"), WORD.SECOND_LOOK, "; moving: a, b, c and d"),
        ({WORD.SAFE: 3}, tuple("abcde"), WORD.SECOND_LOOK, "a, b, c and d and 1 other"),
        ({WORD.SAFE: 3}, tuple("abcdef"), WORD.SECOND_LOOK, "a, b, c and d and 2 others"),
    ],
)
def test_several_sessions_in_a_line(
    words: dict[PanelWord, int], moving: tuple[str, ...], word: PanelWord, said: str
) -> None:
    found = span_sentence(5, DATES, words, moving)
    assert found.word is word
    assert found.said.startswith("5 sessions from 2026-01-06 to 2026-03-03: ")
    assert said in found.said
    assert found.said.endswith(said) or not moving


def test_who_is_asked_something_below_is_named() -> None:
    for names, told in ((4, "a, b, c and d"), (5, "a, b, c, d and 1 more")):
        found = span_sentence(5, DATES, {WORD.SAFE: 3}, (), "abcdef"[:names])
        assert found.next_action == f"go through what is said below of {told}"
    assert span_sentence(5, DATES, {WORD.SAFE: 3}, ()).next_action == "nothing to change"
    one, two = (span_sentence(1, DATES, {}, (), (), why) for why in (("Why.",) * 2, ("A.", "B.")))
    assert (one.next_action, two.next_action) == ("Why", _SEE_WHY)


@pytest.mark.parametrize(
    ("n_samples", "n_assessors", "lacking"),
    [
        *[(5, 6, "1 more sample"), (4, 6, "2 more samples"), (6, 2, "a third assessor")],
        (4, 2, "2 more samples and a third assessor"),
    ],
)
def test_own_words_of_too_few(n_samples: int, n_assessors: int, lacking: str) -> None:
    facts = WordsFacts("W1", n_assessors, n_samples, 9, 1, 60.0, ((), ()), 0.01, ())
    found = words_session_verdict(facts, AgreementSettings())
    assert found.word is WORD.TOO_LITTLE
    assert found.next_action == f"add {lacking} before anybody leans on the map"
    enough = words_session_verdict(replace(facts, n_samples=6, n_assessors=3), AgreementSettings())
    assert enough.word is not WORD.TOO_LITTLE


def test_how_wide_a_line_goes_by_what_holds_it() -> None:
    odds = ReadingOdds(with_panel=1.0, flat=0.0, reversed=0.0, low=1.01, high=1.4)
    assert _width(odds) is AssessorWord.WIDER
    assert _width(replace(odds, low=1.0)) is AssessorWord.WITH
    assert _width(replace(odds, low=0.6, high=1.0)) is AssessorWord.WITH
    assert _width(replace(odds, low=0.6, high=0.99)) is AssessorWord.NARROWER
