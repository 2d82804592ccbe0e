"""Two casks named beforehand; rates over many worlds in tests/bench/words_casks.py."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, PairWord, two_casks
from analysis.errors import NotTogetherError
from tests.houses.worlds import Evening

EVENING = Evening(n_assessors=10, n_notes=3, spread=1e-9, noise=6.0)


def raised(scores: pd.DataFrame, sample: str, by: float, note: str = "note 1") -> pd.DataFrame:
    """One sample so many points higher on one note."""
    there = (scores["sample"] == sample) & (scores["descriptor"] == note)
    return scores.assign(score=(scores["score"] + by * there).clip(0.0, 100.0))


def test_the_difference_is_that_of_the_means() -> None:
    """Complete tables: first less second is the mean of the assessors' own differences."""
    scores = EVENING.scores(3)
    found = two_casks(scores, "x1", "x4")
    for note in found.notes:
        rows = scores[scores["descriptor"] == note.descriptor]
        own = rows.pivot_table(index="assessor", columns="sample", values="score")
        assert note.difference == pytest.approx(float((own["x1"] - own["x4"]).mean()))
        assert note.at_most is not None
        assert note.difference is not None
        assert note.at_most > abs(note.difference)
        assert (note.n_assessors, note.n_sessions) == (10, 1)


def test_three_answers() -> None:
    scores = EVENING.scores(5)
    assert two_casks(scores, "x0", "x1").verdict.word is PairWord.ALIKE
    far = two_casks(raised(scores, "x0", 30.0), "x0", "x1")
    assert far.verdict.word is PairWord.APART
    words = {note.descriptor: note.verdict for note in far.notes}
    assert [name for name, said in words.items() if said.word is PairWord.APART] == ["note 1"]
    assert "x0 above x1" in words["note 1"].sentence
    assert "choose between them by note 1" in far.verdict.next_action
    few = replace(EVENING, n_assessors=4, noise=16.0, replicates=1).scores(2)
    undecided = two_casks(few, "x0", "x1")
    assert undecided.verdict.word is PairWord.CANNOT_TELL
    open_notes = [n for n in undecided.notes if n.verdict.word is PairWord.CANNOT_TELL]
    assert open_notes
    for note in open_notes:
        known = note.more_sessions is not None
        assert known is ("would decide" in note.verdict.next_action)
        assert known is ("would not decide" not in note.verdict.next_action)


def test_more_sessions_say_more() -> None:
    hard = replace(EVENING, n_assessors=6, noise=9.0)
    one = hard.scores(7)
    both = pd.concat([one, hard.scores(8).assign(session="S2")])
    first, second = two_casks(one, "x0", "x1"), two_casks(both, "x0", "x1")
    assert second.sessions == ("S1", "S2")
    for alone, more in zip(first.notes, second.notes, strict=True):
        assert alone.se is not None
        assert more.se is not None
        assert more.se < alone.se
        assert more.n_sessions == 2


def test_a_session_with_one_of_the_two_does_not_count() -> None:
    """The evening would be taken for the cask."""
    one, other = EVENING.scores(7), EVENING.scores(8).assign(session="S2")
    other = other[other["sample"] != "x1"].assign(score=lambda f: (f["score"] + 40).clip(0, 100))
    both = two_casks(pd.concat([one, other]), "x0", "x1")
    assert both == two_casks(one, "x0", "x1")
    with pytest.raises(NotTogetherError, match="Pour both in one session"):
        two_casks(other, "x0", "x1")
    with pytest.raises(NotTogetherError):
        two_casks(one, "x0", "x0")


def test_a_cask_is_all_of_its_samples() -> None:
    one = EVENING.scores(7)
    two = EVENING.scores(8).assign(session="S2", sample=lambda f: f["sample"] + "b")
    scores = pd.concat([one, two])
    scores["cask"] = "cask " + scores["sample"].str[:2]
    found = two_casks(scores, "cask x0", "cask x1")
    assert found.first_samples == ("x0", "x0b")
    assert found.sessions == ("S1", "S2")
    assert {note.n_sessions for note in found.notes} == {2}


def test_a_note_that_neither_has() -> None:
    scores = EVENING.scores(4)
    here = scores["sample"].isin(["x0", "x1"]) & (scores["descriptor"] == "note 2")
    scores.loc[here, "score"] = 0.0
    found = two_casks(scores, "x0", "x1")
    said = {note.descriptor: note.verdict for note in found.notes}["note 2"]
    assert said.word is PairWord.ALIKE
    assert "not there in either" in said.sentence
    fault = AgreementSettings(ought_to_be_absent=frozenset({"note 2"}))
    again = two_casks(scores, "x0", "x1", settings=fault)
    assert "ought to be absent" in again.notes[2].verdict.next_action


def test_the_points_are_those_of_the_house_line() -> None:
    scores = EVENING.scores(6)
    small = scores.assign(score=scores["score"] / 10.0, scale_low=0.0, scale_high=10.0)
    for wide, narrow in zip(
        two_casks(scores, "x2", "x3").notes, two_casks(small, "x2", "x3").notes, strict=True
    ):
        assert narrow.at_most == pytest.approx(wide.at_most)


def test_the_document() -> None:
    found = json.loads(json.dumps(two_casks(EVENING.scores(1), "x0", "x1").to_dict()))
    assert {"first", "second", "verdict", "sentence", "next_action", "notes"} <= set(found)
    assert {"descriptor", "difference", "se", "at_most", "verdict"} <= set(found["notes"][0])
    assert np.isfinite(found["notes"][0]["p_apart"])
