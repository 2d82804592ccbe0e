"""Glasses that may have changed places, and evenings that tell another story: the sentences."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.agreement import AgreementSettings, AssessorWord, PanelWord, Swap
from analysis.agreement.one_session.swaps import Exchange
from analysis.agreement.verdict.over_sessions import (
    TwoWords,
    _action,
    _because,
    beside_evening,
    in_two_camps,
    two_stories,
)
from analysis.agreement.verdict.swaps import (
    SwapFacts,
    WaitingFacts,
    glasses,
    odds_words,
    swap_check_sentence,
    swap_verdict,
    waiting_sentence,
)
from tests.analysis.agreement.verdict.test_over_sessions import SOUND

SETTINGS = AgreementSettings()
WORD, PANEL = AssessorWord, PanelWord
PAIR = Swap(("x1", "x2"), (1, 1), 0.9, 9.0, 6, apart=12.4)
MOVED = Swap((), None, 0.9, 9.0, 6, kind=Exchange.MOVED, by=1)
TRAYS = Swap((), None, 0.9, 9.0, 1, kind=Exchange.TRAYS, other="P5")


def test_two_glasses_and_odds_in_words() -> None:
    assert glasses(PAIR) == "x1 and x2"
    assert glasses(replace(PAIR, replicates=None)) == "x1 and x2"
    assert glasses(replace(PAIR, replicates=(1, 2))) == "x1 (glass 1) and x2 (glass 2)"
    cases = {1000.0: "more than 1000 to 1", 999.4: "999 to 1", 1.0: "1 to 1", 0.5: "1 to 2"}
    cases |= {0.001: "1 to 1000", 0.0009: "less than 1 to 1000"}
    assert {odds: odds_words(odds) for odds in cases} == cases


@pytest.mark.parametrize(
    ("swap", "word", "said", "action"),
    [
        (PAIR, WORD.REVERSED, "P2 has samples x1 and x2 the opposite way round on 6 notes", "mark"),
        (MOVED, WORD.MOVED, "moved on by one, each glass as the next one on 6 notes", "of P2 be"),
        (replace(MOVED, by=-1), WORD.MOVED, "each glass as the previous one", "of P2 beside"),
        (TRAYS, WORD.TRAYS, "The trays of P2 and P5 read as if they had been exchanged on 1 note",
         "of P2 and P5 beside"),
    ],
)  # fmt: skip
def test_what_a_tray_reads_like(swap: Swap, word: AssessorWord, said: str, action: str) -> None:
    found = swap_verdict("P2", swap)
    assert found.word is word
    assert said in found.said
    assert "9 to 1)" in found.said
    assert action in found.next_action


FACTS = SwapFacts("P2", PAIR, 0.31, 0.84, WORD.WITH, ())
CHANGED = tuple((name, PANEL.DO_NOT, PANEL.SAFE) for name in "abcde")


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, "P2's glasses x1 and x2 (12 points apart to the others) read as if exchanged, odds"),
        ({}, "the other way round P2 reads with the panel, correlation 0.84 instead of 0.31"),
        ({}, ", and no note would get another verdict"),
        ({"swap": replace(PAIR, apart=None)}, "glasses x1 and x2 read as if exchanged"),
        ({"swap": replace(PAIR, marked=True)}, "are marked as exchanged"),
        ({"swap": MOVED}, "; moved back P2 reads"),
        ({"swap": TRAYS}, "; each under the other's tray P2 reads"),
        ({"word_exchanged": WORD.TOO_LITTLE}, "is neither surely with the panel nor against it"),
        ({"word_exchanged": WORD.UNSTEADY}, "P2 is unsteady on one note"),
        ({"word_exchanged": WORD.REVERSED}, "still has something the opposite way round"),
        ({"changed": CHANGED[:1]}, ", and a would be 'safe to act on' instead of 'do not act on'"),
        ({"changed": CHANGED[:4]}, "and 1 more note would change"),
        ({"changed": CHANGED}, "and 2 more notes would change"),
    ],
)
def test_what_hangs_on_two_glasses(told: dict[str, Any], said: str) -> None:
    found = swap_check_sentence(replace(FACTS, **told))
    assert said in found.said
    assert ("more note" in found.said) is (len(told.get("changed", ())) > 3)


def test_without_both_correlations_none_is_told() -> None:
    for told in ({"correlation_as_scored": None}, {"correlation_exchanged": None}):
        facts: Any = replace(FACTS, **told)  # type: ignore[arg-type]
        assert "correlation" not in swap_check_sentence(facts).said


@pytest.mark.parametrize(
    ("swap", "action"),
    [
        (PAIR, "nothing has been changed: "),
        (replace(PAIR, marked=True), "nothing has been changed"),
        (replace(PAIR, marked=True, odds=1.0), "nothing has been changed"),
        (replace(PAIR, marked=True, odds=0.99), "the scores do not bear the mark out"),
        (replace(PAIR, odds=0.5), "nothing has been changed: "),
        (TRAYS, "nothing has been changed: lay the tray sheet of P2 and P5"),
    ],
)
def test_what_to_do_about_two_glasses(swap: Swap, action: str) -> None:
    found = swap_check_sentence(replace(FACTS, swap=swap)).next_action
    assert found.startswith(action)
    assert len(found) > len(action) or (swap.marked and swap.odds >= 1.0)


WAITING = WaitingFacts(8, 2, ("A", "B"), PANEL.SAFE, PANEL.SAFE, (), False)


@pytest.mark.parametrize(
    ("told", "said", "action"),
    [
        ({}, "8 scores on 2 glasses of A and B wait because", "before the reveal"),
        ({}, "would be 'safe to act on' all the same, and no note", "clear them up"),
        ({"n_scores": 1, "n_glasses": 1}, "1 score on 1 glass of A and B waits", "clear"),
        ({"n_scores": 1}, "with it as recorded", "clear"),
        ({"without": PANEL.DO_NOT}, "'safe to act on' instead of 'do not act on'", "clear"),
        ({"revealed": True}, "with them as recorded", "were not cleared before the reveal"),
    ],
)
def test_what_waits_until_a_swap_is_cleared(told: dict[str, Any], said: str, action: str) -> None:
    found = waiting_sentence(replace(WAITING, **told))
    assert found.word is PANEL.SAFE
    assert said in found.said
    assert action in found.next_action
    assert "note" not in waiting_sentence(replace(WAITING, changed=None)).said


@pytest.mark.parametrize(
    ("word", "told", "said"),
    [
        (PANEL.ALIKE, {"at_most": 6.0}, "; no two samples differ by more than 6 points"),
        (PANEL.ALIKE, {}, "; the casks of most sessions are alike among themselves"),
        (PANEL.DO_NOT, {}, ", which would miss a difference of less than 10 points"),
        (PANEL.TOO_LITTLE, {}, ", on 20 samples and 8 blind duplicates only"),
        (PANEL.TOO_LITTLE, {"n_samples": 1, "n_duplicates": 1}, ", on 1 sample and 1 blind dup"),
        (PANEL.CANNOT_TELL, {}, "; the samples are neither surely apart"),
        (PANEL.CAMPS, {}, ", but of one camp"),
        (PANEL.SAFE, {}, ""),
    ],
)
def test_why_a_note_gets_its_word(word: PanelWord, told: dict[str, Any], said: str) -> None:
    found = _because(word, replace(SOUND, **told))
    assert found.startswith(said)
    assert bool(found) is bool(said)


def test_what_to_do_about_a_note_over_sessions() -> None:
    absent = replace(SETTINGS, ought_to_be_absent=frozenset({"smoke"}))
    assert "ought to be absent" in _action(PANEL.ALIKE, SOUND, absent)
    assert "earns its place" in _action(PANEL.ALIKE, SOUND, SETTINGS)
    assert _action(PANEL.SAFE, SOUND, absent) == "keep it as it is"
    assert "differences of 10 points or more" in _action(PANEL.SECOND_LOOK, SOUND, SETTINGS)


@pytest.mark.parametrize(
    ("told", "tonight", "said"),
    [
        ({}, PANEL.SAFE, "in one visit of 6 assessors."),
        ({}, PANEL.SECOND_LOOK, "Over 5 sessions: reliability 0.90, at least 0.70, in one visit"),
        ({"reliability": 0.996}, PANEL.SAFE, "reliability above 0.99, at least 0.70"),
        ({"reliability_low": 0.659}, PANEL.SAFE, "at least 0.65"),
        ({}, PANEL.ALIKE, "it is these casks that lie close"),
        ({}, PANEL.DO_NOT, "another story than this session's: look at this session first"),
        (
            {"reliability": 0.3, "seen_difference": 30.0},
            PANEL.SAFE,
            "do not lean on one good evening",
        ),
        ({"reliability": 0.3, "seen_difference": 30.0}, PANEL.DO_NOT, "6 assessors."),
        ({}, PANEL.CAMPS, "a reliability says nothing of this note while the panel is in two"),
    ],
)
def test_what_all_sessions_say_beside_one(
    told: dict[str, Any], tonight: PanelWord, said: str
) -> None:
    found = beside_evening(replace(SOUND, **told), tonight, SETTINGS)
    assert said in found
    assert not said.endswith(".") or found.endswith(said)


@pytest.mark.parametrize(
    ("camps", "other", "is_in"),
    [(1, 0, True), (1, 1, False), (2, 2, True), (2, 3, False), (1, 2, False), (0, 0, False)],
)
def test_two_camps_over_sessions(camps: int, other: int, is_in: bool) -> None:
    assert in_two_camps({PANEL.CAMPS: camps, PANEL.SAFE: other}) is is_in


def words(name: str, evening: AssessorWord | None, lately: AssessorWord | None) -> TwoWords:
    return TwoWords(name, evening, lately, 4, 0.62)


@pytest.mark.parametrize(
    ("notes", "said"),
    [
        ([words("wax", WORD.WITH, WORD.WITH)], None),
        ([words("wax", WORD.REVERSED, WORD.WITH)], "A usually reads with the panel on wax (signal"),
        ([words("wax", WORD.REVERSED, WORD.WIDER)], "0.62 over 4 sessions), so this session"),
        ([words("wax", WORD.REVERSED, WORD.WITH)], "story: look for a swapped glass first."),
        ([words("wax", WORD.REVERSED, None)], None),
        ([words("wax", WORD.FLAT, WORD.NARROWER)], "give this session's scores on it little"),
        ([words("wax", WORD.WITH, WORD.REVERSED)], "read with the panel on wax this time, but is"),
        ([words("wax", WORD.WIDER, WORD.REVERSED)], "is the opposite way round there over 4 sess"),
        ([words("wax", WORD.WITH, WORD.UNSTEADY)], "but is less steady there over 4 sessions"),
        ([words(n, WORD.FLAT, WORD.WITH) for n in "abcd"], "on a, b and c and 1 more note (sig"),
        ([words(n, WORD.FLAT, WORD.WITH) for n in "abcde"], "a, b and c and 2 more notes ("),
        (
            [words("a", WORD.FLAT, WORD.WITH), words("b", WORD.REVERSED, WORD.WITH)],
            "with the panel on b (signal",
        ),
    ],
)
def test_an_evening_that_is_another_story(notes: list[TwoWords], said: str | None) -> None:
    found = two_stories("A", notes)
    assert (found is None) is (said is None)
    assert said is None or said in (found or "")
