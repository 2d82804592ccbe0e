"""A tray moved on by one, the trays of two people exchanged, two camps: said, never repaired."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, AssessorWord, PanelWord, Swap, assess_agreement
from analysis.agreement.one_session.swaps import Exchange, exchanged
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=99, bootstraps=99)
MOVED = Swap((), None, 0.9, 9.0, 6, kind=Exchange.MOVED, by=1)
BACK = Swap((), None, 0.9, 9.0, 6, kind=Exchange.MOVED, by=-1)
TRAYS = Swap((), None, 0.9, 9.0, 6, kind=Exchange.TRAYS, other="P5")


def evening(seed: int = 7) -> pd.DataFrame:
    """Eight people, each tray in an order of its own."""
    scores = Evening(n_notes=6, n_samples=8).scores(seed)
    keys = ["assessor", "sample", "replicate"]
    glasses = scores[keys].drop_duplicates()
    glasses = glasses.assign(draw=np.random.default_rng(seed).random(len(glasses)))
    glasses["position"] = glasses.groupby("assessor")["draw"].rank().astype(int)
    return scores.merge(glasses.drop(columns="draw"), on=keys)


@pytest.mark.parametrize("by", [MOVED, BACK])
def test_a_tray_moved_on_by_one_is_found_either_way(by: Swap) -> None:
    found = assess_agreement(exchanged(evening(), "P2", by), settings=QUICK)
    person = found.assessor("P2")
    assert person.swap is not None
    assert (person.swap.kind, person.swap.by) == (Exchange.MOVED, -(by.by or 0))
    assert person.verdict.word is AssessorWord.MOVED
    assert [check.assessor for check in found.swaps] == ["P2"]
    (check,) = found.swaps
    assert check.assessor_exchanged is AssessorWord.WITH
    assert "nothing has been changed" in check.sentence
    assert "tray sheet of P2" in check.next_action
    json.dumps(found.to_dict(), allow_nan=False)


def test_the_trays_of_two_people_are_found_exchanged() -> None:
    found = assess_agreement(exchanged(evening(), "P2", TRAYS), settings=QUICK)
    others = {person.assessor: person.swap.other for person in found.assessors if person.swap}
    assert others == {"P2": "P5", "P5": "P2"}
    assert found.assessor("P2").verdict.word is AssessorWord.TRAYS
    assert all("tray sheet of P" in check.next_action for check in found.swaps)


@pytest.mark.slow
def test_trays_as_they_were_recorded_are_left_alone() -> None:
    for seed in range(6):
        assert assess_agreement(evening(seed), settings=QUICK).swaps == ()


def test_moving_on_and_back_is_no_move() -> None:
    scores = evening()
    again = exchanged(exchanged(scores, "P2", MOVED), "P2", BACK)
    columns = ["assessor", "sample", "replicate", "descriptor", "score"]
    pd.testing.assert_frame_equal(again[columns], scores[columns])
    twice = exchanged(exchanged(scores, "P2", TRAYS), "P2", TRAYS)
    pd.testing.assert_frame_equal(twice[columns], scores[columns])
    moved = exchanged(scores, "P2", MOVED)
    assert not moved.equals(scores)
    assert not moved.duplicated(["assessor", "sample", "replicate", "descriptor"]).any()


@pytest.mark.slow
def test_how_far_apart_the_two_glasses_are_is_told() -> None:
    pair = Swap(("x1", "x4"), (1, 2), 0.9, 9.0, 6)
    found = assess_agreement(exchanged(evening(), "P2", pair), settings=QUICK)
    swap = found.assessor("P2").swap
    assert swap is not None
    assert swap.samples == ("x1", "x4")
    assert swap.apart is not None
    means = {note.descriptor: {m.sample: m.mean for m in note.means} for note in found.descriptors}
    apart = np.sqrt(np.mean([(part["x1"] - part["x4"]) ** 2 for part in means.values()]))
    assert swap.apart == pytest.approx(float(apart), rel=0.3)
    assert "apart to the others" in found.swaps[0].sentence


def in_two_camps() -> pd.DataFrame:
    """P0 to P3 have note 0 the other way round."""
    scores = evening()
    rows = scores["assessor"].isin(["P0", "P1", "P2", "P3"]) & (scores["descriptor"] == "note 0")
    level = scores.groupby(["assessor", "descriptor"])["score"].transform("mean")
    return scores.assign(score=scores["score"].where(~rows, 2.0 * level - scores["score"]))


def test_half_the_panel_the_other_way_round_is_two_camps_and_not_alike() -> None:
    found = assess_agreement(in_two_camps(), settings=QUICK)
    note = found.descriptor("note 0")
    assert note.verdict.word is PanelWord.CAMPS
    assert note.camps is not None
    assert {note.camps.one, note.camps.other} == {
        ("P0", "P1", "P2", "P3"),
        ("P4", "P5", "P6", "P7"),
    }
    assert all(other.camps is None for other in found.descriptors if other is not note)
    assert found.swaps == ()


def test_an_evening_in_two_camps_says_so_of_its_people_too() -> None:
    scores = in_two_camps()
    found = assess_agreement(scores[scores["descriptor"] == "note 0"], settings=QUICK)
    assert found.descriptor("note 0").verdict.word is PanelWord.CAMPS
    for person in found.assessors:
        assert person.verdict.word is AssessorWord.TOO_LITTLE
        assert "the panel is in two camps on note 0" in person.verdict.said
        assert "judge nobody" not in person.verdict.next_action


def test_one_who_has_a_note_the_other_way_round_is_no_camp() -> None:
    scores = Evening(n_notes=4, n_samples=8, reversed_on=(2, 1)).scores(3)
    assert all(part.camps is None for part in assess_agreement(scores, settings=QUICK).descriptors)
