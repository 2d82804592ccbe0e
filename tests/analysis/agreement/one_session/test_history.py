"""One evening beside the sessions before it."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import (
    Agreement,
    AgreementSettings,
    AssessorWord,
    PanelWord,
    assess_agreement,
)
from analysis.agreement.verdict.over_sessions import TwoWords, two_stories
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=99, bootstraps=199)
USUAL = Evening(n_notes=2)


def before(n: int, evening: Evening = USUAL) -> pd.DataFrame:
    """Earlier evenings with samples of their own."""
    frames = []
    for at in range(n):
        scores = replace(evening, session=f"R{at}").scores(100 + at)
        scores["sample"] = f"R{at} " + scores["sample"]
        frames.append(scores.assign(held_on=pd.Timestamp("2026-01-05") + pd.Timedelta(weeks=at)))
    return pd.concat(frames, ignore_index=True)


def judged(tonight: pd.DataFrame, earlier: pd.DataFrame | None) -> Agreement:
    return assess_agreement(tonight, recent=earlier, settings=QUICK)


def test_a_first_session_is_judged_by_itself() -> None:
    found = judged(USUAL.scores(), None)
    for note in found.descriptors:
        assert note.reliability_over_sessions is None
        assert note.over_sessions_sentence is None
        assert note.n_sessions_over == 1
    for person in found.assessors:
        assert person.signal_share is None
        assert person.over_sessions_sentence is None
        assert [part.evening_verdict for part in person.notes] == [
            part.verdict for part in person.notes
        ]


@pytest.mark.slow
def test_an_evening_keeps_its_own_reliability_and_shows_the_house_s_beside_it() -> None:
    earlier = before(7)
    found = judged(USUAL.scores(), earlier)
    alone = assess_agreement(USUAL.scores(), recent=earlier, settings=QUICK, with_history=False)
    for note, own in zip(found.descriptors, alone.descriptors, strict=True):
        assert note.reliability == own.reliability
        assert note.reliability_low == own.reliability_low
        assert note.verdict == own.verdict
        assert note.n_sessions_over == 8
        assert note.reliability_over_sessions is not None
        assert note.reliability_over_sessions_low is not None
        assert note.reliability_over_sessions > note.reliability_over_sessions_low > 0.8
        assert (note.over_sessions_sentence or "").startswith("Over 8 sessions: reliability 0.9")
        assert "another story" not in (note.over_sessions_sentence or "")
    for person in found.assessors:
        assert person.verdict.word == AssessorWord.WITH
        assert person.signal_share is not None
        assert f"signal share {person.signal_share:.2f} of late" in person.verdict.sentence
        assert {part.n_sessions for part in person.notes} == {6}


@pytest.mark.slow
def test_an_evening_that_fails_where_the_house_does_not_says_what_to_look_at() -> None:
    wild = Evening(n_notes=2, noise=40.0, interaction=0.0, spread=4.0).scores(3)
    note = judged(wild, before(6)).descriptors[0]
    assert note.verdict.word == PanelWord.DO_NOT
    assert "another story than this session's" in (note.over_sessions_sentence or "")
    assert "look at this session first" in (note.over_sessions_sentence or "")


@pytest.mark.slow
def test_one_good_evening_does_not_outweigh_a_house_that_cannot() -> None:
    poor = before(6, Evening(n_notes=2, spread=1.0, noise=25.0, interaction=0.0))
    note = judged(Evening(n_notes=2, spread=14.0).scores(), poor).descriptors[0]
    assert note.verdict.word == PanelWord.SAFE
    assert (note.reliability_over_sessions or 1.0) < QUICK.second_look_reliability
    assert "do not lean on one good evening" in (note.over_sessions_sentence or "")


@pytest.mark.slow
def test_alike_tonight_is_borne_out_by_a_house_that_would_have_seen_it() -> None:
    alike = Evening(n_notes=2, spread=1e-9, noise=4.0, interaction=0.0).scores(3)
    note = judged(alike, before(6)).descriptors[0]
    assert note.verdict.word == PanelWord.ALIKE
    assert "it is these casks that lie close" in (note.over_sessions_sentence or "")


@pytest.mark.slow
def test_the_wrong_way_round_tonight_only_is_another_story() -> None:
    tonight = Evening(n_notes=2, n_samples=8, spread=18.0, reversed_on=(3, 1)).scores()
    found = judged(tonight, before(5, Evening(n_notes=2, n_samples=8, spread=18.0)))
    person = found.assessor("P3")
    assert person.notes[1].evening_verdict == AssessorWord.REVERSED
    assert person.notes[1].verdict == AssessorWord.REVERSED
    said = person.over_sessions_sentence or ""
    assert said.startswith("P3 usually reads with the panel on note 1 (signal share 0.")
    assert said.endswith("another story: look for a swapped glass first.")
    assert found.assessor("P2").over_sessions_sentence is None


@pytest.mark.slow
def test_steady_tonight_and_unsteady_of_late() -> None:
    earlier = before(5, replace(USUAL, spread=16.0))
    shaky = (earlier["assessor"] == "P4") & (earlier["descriptor"] == "note 1")
    swing = np.random.default_rng(1).normal(0.0, 25.0, int(shaky.sum()))
    earlier.loc[shaky, "score"] = (earlier.loc[shaky, "score"] + swing).clip(0.0, 100.0)
    once = replace(USUAL, spread=16.0, replicates=1).scores(2)
    found = judged(once, earlier).assessor("P4").notes[1]
    assert found.verdict == AssessorWord.UNSTEADY


def test_who_comes_for_the_first_time_is_judged_by_this_session() -> None:
    earlier = before(4)
    found = judged(USUAL.scores(), earlier[earlier["assessor"] != "P5"])
    new, known = found.assessor("P5"), found.assessor("P4")
    assert new.signal_share is None
    assert "of late" not in new.verdict.sentence
    assert {part.verdict for part in new.notes} == {AssessorWord.WITH}
    assert known.signal_share is not None


def test_who_smells_nothing_of_a_note_is_told_in_private_alone() -> None:
    evening = Evening(n_notes=2, n_samples=8, flat=(3, 1), spread=18.0)
    found = judged(evening.scores(), before(5, evening))
    (fact,) = found.private
    assert (fact.assessor, fact.descriptor, fact.n_sessions) == ("P3", "note 1", 6)
    public = found.to_dict()
    assert fact.sentence not in json.dumps(public)
    note = found.assessor("P3").notes[1]
    assert note.signal_share is None
    assert note.verdict in (AssessorWord.FLAT, None)
    assert found.assessor("P3").over_sessions_sentence is None


@pytest.mark.slow
def test_codes_meet_no_sample_of_another_session() -> None:
    earlier = before(4)
    tonight = USUAL.scores()
    tonight["sample"] = tonight["sample"].map({f"x{i}": f"R0 x{5 - i}" for i in range(6)})
    as_named = judged(tonight, earlier)
    coded = assess_agreement(tonight, recent=earlier, settings=QUICK, coded=True)
    one, other = (found.descriptors[0].reliability_over_sessions for found in (as_named, coded))
    assert one is not None
    assert other is not None
    assert other > one
    shown = {part.sample for note in coded.descriptors for part in note.means}
    assert shown == set(tonight["sample"])
    text = json.dumps(coded.to_dict())
    assert not any(name in text for name in set(earlier["sample"]) - shown)


def test_sentences_where_an_evening_and_a_habit_differ() -> None:
    steady = TwoWords("smoke", AssessorWord.WITH, AssessorWord.UNSTEADY, 5, 0.4)
    again = TwoWords("plum", AssessorWord.WIDER, AssessorWord.UNSTEADY, 5, 0.4)
    said = two_stories("Rowan", [steady, again])
    assert said == (
        "Rowan read with the panel on smoke and plum this time, but is less steady there over 5 "
        "sessions: ask what was done differently, and keep to it."
    )
    flat = TwoWords("smoke", AssessorWord.FLAT, AssessorWord.WITH, 5, 0.7)
    assert (two_stories("Rowan", [flat]) or "").endswith(
        "another story: give this session's scores on it little weight."
    )
    same = TwoWords("smoke", AssessorWord.WITH, AssessorWord.WIDER, 5, 0.7)
    undecided = TwoWords("smoke", AssessorWord.REVERSED, None, 5, None)
    assert two_stories("Rowan", [same, undecided]) is None
