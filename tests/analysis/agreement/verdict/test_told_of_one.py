"""What one assessor is told of an evening, and the lead of one over sessions, case by case."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.agreement import AssessorWord
from analysis.agreement.one_session.swaps import Exchange, Swap
from analysis.agreement.verdict.evening import (
    AloneOnNote,
    Apart,
    Clearest,
    Earliest,
    OwnDrift,
    OwnWay,
    Repeated,
    _compared,
    alone_sentence,
    apart_sentence,
    clearest_sentence,
    earliest_sentence,
    next_step,
    own_drift_sentence,
    private_note,
    progress_sentences,
    repeated_sentence,
    swap_note,
    together_sentence,
    word_sentence,
)
from analysis.agreement.verdict.span_person import (
    SpanNoteFacts,
    SpanPersonFacts,
    span_assessor_verdict,
)
from analysis.agreement.verdict.words import Verdict, listed, points

WORD = AssessorWord
BEFORE = OwnWay(4, 0.6, 0.5, 10.0, 10.0, 0)


@pytest.mark.parametrize(
    ("told", "over"),
    [
        ({"n_sessions": 1}, "over your last session:"),
        ({"n_sessions": 2}, "over your last 2 sessions:"),
    ],
)
def test_tonight_beside_so_many_sessions(told: dict[str, Any], over: str) -> None:
    repeats, correlation = progress_sentences(replace(BEFORE, **told))
    assert over in repeats
    assert over in correlation


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, ["within 10 points tonight, 10 points", "is 0.60 tonight, 0.50"]),
        ({"repeat_points": None}, ["is 0.60 tonight, 0.50"]),
        ({"repeat_points_before": None}, ["is 0.60 tonight, 0.50"]),
        ({"correlation": None}, ["within 10 points tonight"]),
        ({"correlation_before": None}, ["within 10 points tonight"]),
        ({"correlation": None, "repeat_points": None}, ["too little to lay tonight beside your"]),
        ({"n_sessions": 0}, ["This is your first session here"]),
        ({"n_sessions": 0, "n_missing": 1}, ["first session", "left 1 line blank"]),
        ({"n_missing": 2}, ["within", "is 0.60", "left 2 lines blank: blank is not zero"]),
    ],
)
def test_what_is_said_of_a_person_beside_before(told: dict[str, Any], said: list[str]) -> None:
    found = progress_sentences(replace(BEFORE, **told))
    assert len(found) == len(said)
    assert all(part in sentence for part, sentence in zip(said, found, strict=True))


def test_a_fifth_either_way_is_as_before() -> None:
    cases = ((7.9, "less"), (8.1, "as before"), (12.4, "as before"), (12.6, "more"))
    assert [_compared(now, 10.0, "less", "more") for now, _ in cases] == [w for _, w in cases]
    closer = progress_sentences(replace(BEFORE, correlation=0.7, repeat_points=5.0))
    assert closer[0].endswith("steadier.")
    assert not closer[0].endswith("less steady.")
    assert closer[1].endswith("closer to the others.")
    further = progress_sentences(replace(BEFORE, correlation=0.3, repeat_points=20.0))
    assert further[0].endswith("less steady.")
    assert further[1].endswith("further from the others.")


def test_what_came_back_and_what_was_found() -> None:
    one = Repeated(("x2",), 6.0, ("smoke", 2.0), ("plum", 9.0))
    assert repeated_sentence(one).startswith("x2 came back to you unmarked: on the middle note")
    assert "closest on smoke (2 points), furthest on plum (9 points)." in repeated_sentence(one)
    two = replace(one, samples=("x2", "x3"), furthest=("smoke", 2.0))
    assert repeated_sentence(two).startswith("2 samples came back to you")
    assert "closest" not in repeated_sentence(two)
    assert "No glass came back" in repeated_sentence(None)
    clear = Clearest("smoke", ("x1", 4.6, 7.4), ("x5", 80.2, 60.8))
    assert "x1 at 5 and x5 at 80, where the others put 7 and 61." in clearest_sentence(clear)
    first = Earliest("plum", "x3", 2, 40.0, 30.4)
    assert "in your second glass, x3, you put it at 40" in earliest_sentence(first)
    assert "(30)." in earliest_sentence(first)
    for place, said in ((1, "first"), (6, "sixth"), (7, "7th")):
        assert f"in your {said} glass" in earliest_sentence(replace(first, place=place))
    assert "in x3 (36) and found it again" in alone_sentence(AloneOnNote("wax", "x3", 35.6))
    assert "put x3 12 points above" in apart_sentence(Apart("wax", "x3", 32.0, 20.0))
    assert "put x3 12 points below" in apart_sentence(Apart("wax", "x3", 20.0, 32.0))
    assert "too small" in together_sentence(0)
    assert together_sentence(1) == "You and the others read 1 note alike."
    assert "over 3 sessions you have not separated the glasses on wax" in private_note("wax", 3)


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        (Exchange.PAIR, "glasses x1 and x2 read as if they had changed places on the way"),
        (Exchange.MOVED, "tray reads as if it had moved on by one glass on the way"),
        (Exchange.TRAYS, "tray reads as if it had been exchanged with another on the way"),
    ],
)
def test_what_may_have_happened_to_a_tray(kind: Exchange, said: str) -> None:
    assert said in swap_note(Swap(("x1", "x2"), None, 0.9, 9.0, 6, kind=kind))


STEPS = [
    (WORD.REVERSED, "the lead look at your glasses"),
    (WORD.FLAT, "two references"),
    (WORD.UNSTEADY, "before each flight"),
    (WORD.NARROWER, "both ends of the line"),
    (WORD.WIDER, "both ends of the line"),
]


def test_the_most_urgent_step_is_told() -> None:
    words = [word for word, _ in STEPS]
    for at, (_, step) in enumerate(STEPS):
        assert step in next_step(words[at:][::-1], 3)
        assert (word_sentence("smoke", words[at]) or "").startswith("On smoke you")
    assert next_step([WORD.WITH], 1) == "write 0 where a note is not there"
    assert next_step([WORD.WITH], 0) == "nothing to do"
    assert word_sentence("smoke", WORD.WITH) is None


MOVED = OwnDrift(8, True, 6.0, (3.6, 8.6), "2026-03-01", "2026-02-01", "2026-04-01")


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, "about 6 points higher than you used to"),
        ({}, "since 2026-03-01 (between 2026-02-01 and 2026-04-01); 4 to 9 points hold it."),
        ({"points": -6.0, "bounds": (-8.6, -3.6)}, "about 6 points lower than you used to"),
        ({"points": -6.0, "bounds": (-8.6, -3.6)}, "; 4 to 9 points hold it."),
        ({"earliest": "2026-03-01", "latest": "2026-03-01"}, "since 2026-03-01; 4 to"),
        ({"points": None}, "has not surely moved over 8 sessions."),
        ({"bounds": None}, "has not surely moved over 8 sessions."),
        ({"charted": False}, "cannot be told yet, after 8 sessions."),
        ({"charted": False, "n_sessions": 1}, "cannot be told yet, after 1 session."),
    ],
)
def test_whether_somebody_has_moved(told: dict[str, Any], said: str) -> None:
    assert said in own_drift_sentence(replace(MOVED, **told))


NOTE = SpanNoteFacts("smoke", WORD.WITH, 4, 1.0, 8.0, 6.0, None)
PERSON = SpanPersonFacts(
    passed=True,
    against=False,
    habit=None,
    scale=1.4,
    unsteady=1.8,
    correlation=0.62,
    n_told=12,
    more=None,
    short=False,
    n_sessions=5,
    missing_rate=0.05,
)
UP = Verdict(WORD.MOVING_UP, "P1 moves up on smoke", "set the reference again")


def turned(**sessions: int) -> list[SpanNoteFacts]:
    each = sessions.items()
    return [replace(NOTE, descriptor=n, word=WORD.REVERSED, n_sessions=s) for n, s in each]


@pytest.mark.parametrize(
    ("notes", "person", "word", "said"),
    [
        # Of several notes the other way round the most sessions are told, of none those there.
        (turned(smoke=2, wax=6, plum=4), {}, WORD.REVERSED, "smoke, wax and plum the opposite"),
        (turned(smoke=2, wax=6), {}, WORD.REVERSED, "way round over 6 sessions"),
        (turned(smoke=1), {}, WORD.REVERSED, "has smoke the opposite way round over 1 session"),
        ([NOTE], {"against": True}, WORD.REVERSED, "taken together the opposite way round over 5"),
        (turned(a=1, b=1, c=1, d=1), {}, WORD.REVERSED, "a, b and c and 1 more note the opp"),
        (turned(a=1, b=1, c=1, d=1, e=1), {}, WORD.REVERSED, "a, b and c and 2 more notes the"),
        ([replace(NOTE, moving=UP)], {}, WORD.MOVING_UP, "P1 moves up on smoke"),
        (
            [replace(NOTE, moving=UP), replace(NOTE, descriptor="wax", moving=UP)],
            {},
            WORD.MOVING_UP,
            "P1 moves up on smoke (and likewise on wax)",
        ),
        ([NOTE], {}, WORD.WITH, "P1 reads with the panel on 1 note over 5 sessions (corr"),
        ([NOTE], {}, WORD.WITH, "(correlation 0.62)"),
        ([NOTE], {"n_sessions": 1}, WORD.WITH, "on 1 note over 1 session ("),
        ([replace(NOTE, word=None)], {}, WORD.WITH, "with the panel over all notes together over"),
        ([NOTE, replace(NOTE, word=WORD.WIDER)], {}, WORD.WITH, "on 2 notes over"),
        ([NOTE], {"passed": False}, WORD.CANNOT_TELL, "is neither surely with the panel nor"),
        ([NOTE], {"passed": False}, WORD.CANNOT_TELL, "0.62 on what the others told apart, 12 t"),
        ([NOTE], {"passed": False, "n_told": 0}, WORD.TOO_LITTLE, "in which nobody can be judged"),
        ([NOTE], {"passed": False, "correlation": None}, WORD.TOO_LITTLE, "nobody can be judged"),
        (
            [NOTE],
            {"passed": False, "n_told": 0, "camps": ("wax",)},
            WORD.TOO_LITTLE,
            "in which the panel is in two camps on wax, and nobody",
        ),
        ([NOTE], {"passed": False, "camps": ("wax",)}, WORD.CANNOT_TELL, "told apart, 12 times"),
    ],
)
def test_what_needs_talking_about_first(
    notes: list[SpanNoteFacts], person: dict[str, Any], word: WORD, said: str
) -> None:
    found = span_assessor_verdict("P1", notes, replace(PERSON, **person), None)
    assert found.word is word
    assert said in found.said


def test_moving_on_all_notes_goes_before_moving_on_one() -> None:
    down = Verdict(WORD.MOVING_DOWN, "P1 moves down", "set the references again")
    notes = [replace(NOTE, moving=UP)]
    assert span_assessor_verdict("P1", notes, PERSON, down) == down
    against = replace(PERSON, against=True)
    assert span_assessor_verdict("P1", notes, against, down).word is WORD.REVERSED


@pytest.mark.parametrize(
    ("person", "action"),
    [
        ({}, "nothing to do"),
        ({"missing_rate": 0.051}, "ask why 5 in 100 lines were left blank"),
        ({"passed": False}, "let the next sessions decide"),
        ({"passed": False, "more": 3}, "of casks not poured so far"),
        ({"passed": False, "more": 3, "short": True}, "talk the words over"),
    ],
)
def test_what_the_lead_does_next(person: dict[str, Any], action: str) -> None:
    found = span_assessor_verdict("P1", [NOTE], replace(PERSON, **person), None)
    assert action in found.next_action


@pytest.mark.parametrize(
    ("habit", "passed", "notes", "said"),
    [
        (WORD.WIDER, True, [], "P1 reads with the panel on 1 note over 5 sessions"),
        (WORD.WIDER, True, [], "but uses a wider line, 1.4 points for one of the others' over all"),
        (WORD.WIDER, False, [], "P1 uses a wider line"),
        (WORD.WIDER, True, [1.2, 1.9, 1.5], "over all notes (1.9 on note 1)"),
        (WORD.NARROWER, True, [0.8, 0.4, 0.9], "over all notes (0.4 on note 1)"),
        (WORD.NARROWER, True, [None, 0.9], "over all notes (0.9 on note 1)"),
        (WORD.UNSTEADY, True, [], "1.8 times as far from one nosing to the next over all notes"),
        (WORD.UNSTEADY, True, [1.0, 1.0], "(9 points on note 1 where 6 points is usual)"),
    ],
)
def test_a_habit_over_all_notes(
    habit: WORD, passed: bool, notes: list[float | None], said: str
) -> None:
    found = [
        replace(NOTE, descriptor=f"note {at}", word=habit, slope=slope, repeat_points=8.0 + at)
        for at, slope in enumerate(notes)
    ]
    person = replace(PERSON, habit=habit, passed=passed)
    verdict = span_assessor_verdict("P1", [replace(NOTE, slope=9.0), *found], person, None)
    assert verdict.word is habit
    assert said in verdict.said
    assert ("on note" in verdict.said.split("over all notes")[-1]) is bool(notes)


def test_points_and_names_in_words() -> None:
    cases = {None: "an unknown number of points", 0.0: "0 points", 0.04: "0 points"}
    cases |= {0.06: "0.1 points", 0.94: "0.9 points", 1.0: "1 point", 1.4: "1 point"}
    assert {value: points(value) for value in cases} == cases
    assert points(1.6) == "2 points"
    assert [listed(names) for names in (["a"], ["a", "b"], ["a", "b", "c"])] == [
        *("a", "a and b", "a, b and c")
    ]
    plain = Verdict(WORD.WITH, "P1 reads", "nothing to do")
    assert (plain.label, plain.sentence) == ("reads with the panel", "P1 reads: nothing to do.")
    since = replace(plain, word=WORD.MOVING_UP, since="2026-02-01")
    assert since.beside("word") == {
        **{"word": "moving upward since 2026-02-01", "sentence": "P1 reads: nothing to do."},
        "next_action": "nothing to do",
    }
