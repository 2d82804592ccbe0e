"""Several sessions together."""

from __future__ import annotations

import json
from dataclasses import replace

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
from analysis.agreement.verdict.over_sessions import OverFacts, over_sessions_verdict
from analysis.agreement.verdict.span import span_descriptor_verdict, span_sentence
from analysis.errors import NoScoresError
from tests.houses.worlds import Evening, Years

QUICK = AgreementSettings(permutations=99, bootstraps=99)


def evenings(n: int, evening: Evening) -> pd.DataFrame:
    """The same kind of evening n times, each with samples of its own."""
    frames = []
    for at in range(n):
        scores = replace(evening, session=f"S{at}").scores(at)
        scores["sample"] = f"{at} " + scores["sample"]
        frames.append(scores.assign(held_on=pd.Timestamp("2026-01-05") + pd.Timedelta(weeks=at)))
    return pd.concat(frames, ignore_index=True)


def judged(scores: pd.DataFrame) -> Span:
    return assess_span(scores, settings=QUICK)


@pytest.mark.slow
def test_a_line_a_session_in_order_of_dates() -> None:
    scores = evenings(3, Evening())
    shuffled = scores.sample(frac=1.0, random_state=2)
    found = judged(shuffled)
    assert [line.session for line in found.sessions] == ["S0", "S1", "S2"]
    assert found.sessions[0].held_on == "2026-01-05"
    assert {line.verdict.word for line in found.sessions if line.verdict} == {PanelWord.SAFE}
    assert "3 sessions from 2026-01-05 to 2026-01-19" in found.sentence
    assert {person.verdict.word for person in found.assessors} == {AssessorWord.WITH}
    assert judged(scores).to_dict() == found.to_dict()


@pytest.mark.slow
def test_who_has_a_note_the_wrong_way_round_over_the_span() -> None:
    found = judged(evenings(4, Evening(reversed_on=(3, 1))))
    person = found.assessor("P3")
    assert person.verdict.word == AssessorWord.REVERSED
    assert "note 1 the opposite way round over 4 sessions" in person.verdict.sentence
    note = next(part for part in person.notes if part.descriptor == "note 1")
    assert note.slope is not None
    assert note.slope < -0.5


@pytest.mark.slow
def test_the_one_model_says_how_reliable_a_note_is() -> None:
    scores = evenings(4, Evening(n_notes=2))
    found = judged(scores)
    model = over_sessions(scores, settings=QUICK)
    for note in found.descriptors:
        one = model[note.descriptor]
        assert note.reliability_over_sessions == one.reliability
        assert note.reliability_over_sessions_low == one.reliability_low
        assert note.verdict.word == PanelWord.SAFE
        assert "reliability 0.9" in note.verdict.sentence
        assert "evening by evening safe to act on in 4" in note.verdict.sentence
        assert note.verdict.sentence.endswith(f"{note.verdict.next_action}.")
    for person in found.assessors:
        for part in person.notes:
            assert part.signal_share == model[part.descriptor].people[person.assessor].signal_share


@pytest.mark.slow
def test_a_note_scored_once_is_left_to_its_session() -> None:
    scores = evenings(3, Evening(n_notes=2))
    once = scores[(scores["descriptor"] != "note 1") | (scores["session"] == "S1")]
    note = judged(once).descriptor("note 1")
    assert note.over_sessions_note == "scored in one session only"
    assert note.reliability_over_sessions is None
    assert note.verdicts == {PanelWord.SAFE: 1}
    assert note.verdict.word == PanelWord.SAFE


@pytest.mark.slow
@pytest.mark.parametrize(
    ("evening", "word", "said"),
    [
        (Evening(n_notes=1, spread=1.0, noise=25.0), PanelWord.DO_NOT, "would miss a difference"),
        (Evening(n_notes=1, spread=0.5, noise=4.0), PanelWord.ALIKE, "alike among themselves"),
        (Evening(n_notes=1, n_assessors=4), PanelWord.SECOND_LOOK, "trust differences of"),
        (Evening(n_notes=1, replicates=1), PanelWord.TOO_LITTLE, "0 blind duplicates only"),
    ],
)
def test_words_of_a_note_over_sessions(evening: Evening, word: PanelWord, said: str) -> None:
    (note,) = judged(evenings(4, evening)).descriptors
    assert note.verdict.word == word
    assert said in note.verdict.sentence


@pytest.mark.slow
def test_what_is_close_to_health_is_private_over_the_span_too() -> None:
    found = judged(evenings(5, Evening(n_samples=8, spread=18.0, flat=(3, 1))))
    (fact,) = found.private
    assert (fact.assessor, fact.descriptor, fact.n_sessions) == ("P3", "note 1", 5)
    assert fact.probability > 0.8
    public = json.dumps(found.to_dict(), allow_nan=False)
    assert "private" not in found.to_dict()
    assert fact.sentence not in public
    assert AssessorWord.FLAT not in public
    note = next(part for part in found.assessor("P3").notes if part.descriptor == "note 1")
    assert note.verdict is None
    assert (note.signal_share, note.slope) == (None, None)
    assert found.to_dict(private=True)["private"][0]["descriptor"] == "note 1"


@pytest.mark.slow
def test_a_session_that_cannot_be_judged_says_why() -> None:
    scores = evenings(2, Evening())
    lonely = scores[(scores["session"] == "S0") | (scores["assessor"] == "P0")]
    found = judged(lonely)
    assert [line.verdict is None for line in found.sessions] == [False, True]
    assert "second assessor" in found.sessions[1].sentence


@pytest.mark.slow
def test_everybody_is_charted_over_the_span() -> None:
    scores, _ = Years(n_sessions=16).draw(3)
    late = scores["session"].str[1:].astype(int) >= 8
    moves = (scores["assessor"] == "P1") & late
    scores["score"] = (scores["score"] + np.where(moves, 14.0, 0.0)).clip(0.0, 100.0)
    found = judged(scores)
    person = found.assessor("P1")
    assert person.verdict.word is AssessorWord.MOVING_UP
    assert person.verdict.label == f"moving upward since {person.verdict.since}"
    assert person.drift is not None
    assert person.drift.direction == "upward"
    assert "P1 on" in found.sentence
    told = next(part for part in found.to_dict()["assessors"] if part["assessor"] == "P1")
    assert told["verdict"] == f"moving upward since {person.verdict.since}"
    assert told["drift"]["direction"] == "upward"
    assert "verdict" not in told["drift"]
    assert found.drift is not None
    note = found.descriptor("note 1")
    assert note.drift is not None
    assert note.drift.n_sessions == 16


@pytest.mark.slow
def test_a_span_without_references_says_nothing_of_the_panel() -> None:
    found = judged(evenings(2, Evening()))
    assert found.drift is None
    assert found.assessors[0].drift is not None


@pytest.mark.slow
def test_blanks_make_a_missing_rate() -> None:
    scores = evenings(2, Evening())
    own = scores.index[(scores["assessor"] == "P2") & (scores["descriptor"] == "note 0")]
    scores.loc[own[:6], "score"] = np.nan
    found = judged(scores)
    assert found.assessor("P2").n_missing == 6
    assert found.assessor("P2").missing_rate == pytest.approx(6 / (2 * 6 * 2 * 4))
    assert found.descriptor("note 0").missing_rate == pytest.approx(6 / (2 * 8 * 6 * 2))


def test_progress_is_told_and_nothing_is_refused() -> None:
    told: list[tuple[int, int]] = []
    scores = evenings(3, Evening(n_notes=1))
    assess_span(scores, settings=QUICK, progress=lambda done, all_: told.append((done, all_)))
    assert told == [(1, 3), (2, 3), (3, 3)]
    with pytest.raises(NoScoresError):
        assess_span(scores.assign(status="void"), settings=QUICK)


@pytest.mark.slow
def test_sessions_before_the_span_lend_their_repeats() -> None:
    once = evenings(1, Evening(replicates=1, session="Z"))
    before = evenings(3, Evening()).assign(held_on=pd.Timestamp("2025-06-01"))
    before["session"] = "E" + before["session"]
    alone = assess_span(once, settings=QUICK).sessions[0].verdict
    lent = assess_span(once, earlier=before, settings=QUICK).sessions[0].verdict
    assert alone is not None
    assert lent is not None
    assert (alone.word, lent.word) == (PanelWord.TOO_LITTLE, PanelWord.SAFE)


def test_a_note_that_ought_to_be_absent_keeps_its_place() -> None:
    """Casks alike on a fault are good news, on any other note a line that tells nothing."""
    plain = AgreementSettings()
    fault = AgreementSettings(ought_to_be_absent=frozenset({"must"}))
    over = OverFacts("must", 6, 30, 8, 10, 0.1, 0.0, 4.0)
    for settings, kept in ((plain, False), (fault, True)):
        evenings = {PanelWord.ALIKE: 6}
        for said in (
            over_sessions_verdict(over, evenings, settings),
            span_descriptor_verdict("must", evenings, None, settings),
        ):
            assert said.word is PanelWord.ALIKE
            assert ("ought to be absent" in said.next_action) == kept
            assert ("earns its place" in said.next_action) != kept


def test_a_note_read_in_two_camps_is_not_safe_however_surely_the_model_follows_one() -> None:
    over = OverFacts("must", 3, 24, 9, 8, 0.9, 0.78, 4.0)
    settings = AgreementSettings()
    said = over_sessions_verdict(over, {PanelWord.CAMPS: 3}, settings)
    assert said.word is PanelWord.CAMPS
    assert "which is right, it cannot tell" in said.said
    assert "agree which end of the line is which" in said.next_action
    most = over_sessions_verdict(over, {PanelWord.CAMPS: 1, PanelWord.SAFE: 2}, settings)
    assert most.word is PanelWord.SAFE


def test_nothing_is_to_change_only_where_no_note_is_in_doubt() -> None:
    words, dates = {PanelWord.SAFE: 3}, ("2026-01-01", "2026-01-03")
    assert "nothing to change" in span_sentence(3, dates, words, ()).sentence
    said = span_sentence(3, dates, words, (), ["flour"]).sentence
    assert "nothing to change" not in said
    assert "flour" in said


def test_where_no_session_can_be_judged_the_reason_is_told() -> None:
    """Nothing was wrong with the order of the trays: one person scored test glasses."""
    rows = [
        ("S1", "2026-01-10", who, name, "smoke", score)
        for who, glasses in (("Bo", ("x", "y", "z")), ("Dot", ("REF",)))
        for score, name in enumerate(glasses, 20)
    ]
    names = ["session", "held_on", "assessor", "sample", "descriptor", "score"]
    frame = pd.DataFrame(rows, columns=names)
    frame["replicate"] = 1
    frame["kind"] = np.where(frame["sample"] == "REF", "reference", "test")
    found = assess_span(frame, settings=QUICK)
    assert "in an order of its own" not in found.sentence
    assert "none could be judged" in found.sentence
    assert "test glasses of Bo alone" in found.next_action
    said = found.descriptors[0].verdict.sentence
    assert said.startswith("Smoke could be judged in none of the sessions: see")
    several = span_sentence(2, ("2026-01-10", "2026-01-11"), {}, (), (), ["One.", "Another."])
    assert "see at each session why" in several.next_action


def test_half_a_panel_reversed_in_every_session_is_two_camps_over_them() -> None:
    """As a whole: each session says it, and so do all together."""
    rng = np.random.default_rng(8)
    parts = []
    for visit in range(3):
        truth = rng.permutation(np.linspace(20.0, 80.0, 8))
        for person in range(8):
            for glass, level in enumerate([*truth, truth[0], truth[1]]):
                read = level if person < 4 else 100.0 - level
                sample = f"v{visit}x{glass if glass < 8 else glass - 8}"
                parts.append((f"S{visit}", f"P{person}", sample, 1 + (glass > 7), read))
    scores = pd.DataFrame(
        parts, columns=["session", "assessor", "sample", "replicate", "score"]
    ).assign(descriptor="flour")
    scores["score"] = (scores["score"] + rng.normal(0, 6, len(scores))).clip(0, 100).round()
    found = assess_span(scores, settings=QUICK)
    (note,) = found.descriptors
    assert note.verdict.word is PanelWord.CAMPS
    assert "nothing to change" not in found.sentence
