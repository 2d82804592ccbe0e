"""Exchanges weighed on a tray, and the word for somebody on a note, on a few figures by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, AssessorWord
from analysis.agreement.one_session.assessors import PanelSlope
from analysis.agreement.one_session.exchanges import (
    _apart,
    _Case,
    _exchanged_trays,
    _log_prior,
    _moved,
    _named,
    _Pairs,
    _speaking,
)
from analysis.agreement.one_session.private import (
    _flat_by_slopes,
    flat_by_slopes,
    flat_over_sessions,
)
from analysis.agreement.one_session.swaps import Exchange
from analysis.agreement.one_session.trays import Tray
from analysis.agreement.sessions.over_sessions import NoteOverSessions, PersonOverSessions
from analysis.agreement.sessions.span import _with_recent
from tests.analysis.agreement.sessions.test_span_person import MODEL

SETTINGS = AgreementSettings()
WORD = AssessorWord


def tray(samples: list[int], places: list[float] | None = None, **more: Any) -> Any:
    n = len(samples)
    told: dict[str, Any] = {
        **{"samples": np.array(samples), "code": 0, "glasses": np.arange(n)},
        "places": None if places is None else np.array(places),
        "as_samples": lambda other: float(np.sum(np.asarray(other))),
        **more,
    }
    return SimpleNamespace(**told)


def test_trays_with_the_same_places_and_other_samples_may_be_exchanged() -> None:
    people = ("A", "B", "C", "D", "E")
    panel = SimpleNamespace(people=people)
    mine = tray([0, 1, 2], [1, 2, 3], panel=panel)
    trays = [
        mine,
        tray([2, 1, 0], [1, 2, 3], code=1, panel=panel),
        tray([0, 1, 2], [1, 2, 3], code=2, panel=panel),
        tray([2, 1, 0], [1, 2, 4], code=3, panel=panel),
        tray([2, 1, 0], None, code=4, panel=panel),
    ]
    (found,) = _exchanged_trays(mine, trays)
    assert (found.kind, found.other, found.samples.tolist()) == (Exchange.TRAYS, "B", [2, 1, 0])
    assert found.log_odds == pytest.approx(np.log(0.03 / 4.0 / 0.91) + 3.0 + 3.0)
    assert _exchanged_trays(tray([0, 1, 2]), trays) == []
    assert _log_prior(0.05, 0) == pytest.approx(np.log(0.05 / 0.91))


def test_a_tray_moves_on_by_one_either_way() -> None:
    forth, back = _moved(tray([5, 6, 7, 8], [1, 2, 3, 4]))
    assert (forth.by, forth.samples.tolist()) == (1, [6, 7, 8, 5])
    assert (back.by, back.samples.tolist()) == (-1, [8, 5, 6, 7])
    assert forth.log_odds == pytest.approx(np.log(0.01 / 2.0 / 0.91) + 26.0)
    assert _moved(tray([5, 6, 7], [1, 2, 3])) == []
    assert _moved(tray([5, 6, 7, 8])) == []


def test_pairs_stand_by_their_glasses_then_by_whole_samples() -> None:
    pairs = _Pairs(np.array([1.0, 2.0, 3.0]), np.array([0, 1, 4]), np.array([2, 2, 5]), 2)
    assert [pairs.at(each) for each in (None, (0, 2), (1, 2), (4, 5), (2, 0))] == [
        *(None, 0, 1, None, None)
    ]
    mine = tray([4, 5, 6, 4, 5])
    one, whole = pairs.case(1, mine), pairs.case(2, mine)
    assert (one.samples.tolist(), one.whole, one.log_odds) == ([4, 6, 5, 4, 5], False, 2.0)
    assert (whole.samples.tolist(), whole.whole) == ([5, 4, 6, 5, 4], True)
    assert mine.samples.tolist() == [4, 5, 6, 4, 5]


def test_what_speaks_for_an_exchange_and_how_far_apart_the_two_are() -> None:
    """Three notes, of which two were told apart; the others' means of three samples."""
    others = np.array([[[10.0, 5.0, 8.0], [30.0, 6.0, 8.0], [50.0, 90.0, 0.0]]])
    panel = SimpleNamespace(
        **{"others": others, "told": np.array([True, False, True])},
        **{"reliability": np.array([0.5, 1.0, 1.0]), "samples": ("x", "y", "z")},
        **{"sample": np.array([1, 0, 2]), "replicate": np.array([2, 1, 1])},
        centred=np.array([[28.0, 6.0, 8.0], [12.0, 5.0, np.nan], [50.0, 90.0, 0.0]]),
    )
    mine = tray([0, 1, 2], panel=panel)
    swapped = _Case(0.0, np.array([1, 0, 2]), Exchange.PAIR, 0, 1)
    assert _speaking(mine, swapped) == 1
    assert _speaking(mine, _Case(0.0, np.array([0, 1, 2]), Exchange.MOVED)) == 0
    assert _apart(mine, swapped) == pytest.approx(np.sqrt((40.0**2 + 0.0) / 2.0))
    assert _apart(mine, _Case(0.0, np.array([2, 1, 0]), Exchange.PAIR, 0, 2, whole=True)) == (
        pytest.approx(np.sqrt((80.0**2 + 8.0**2) / 2.0))
    )
    assert _apart(mine, _Case(0.0, np.array([1, 2, 0]), Exchange.MOVED)) is None
    # By name: the second glass is x, the first y's second one.
    assert _named(mine, swapped) == (("x", "y"), (1, 2))
    assert _named(mine, replace(swapped, whole=True)) == (("x", "y"), None)
    assert _named(mine, replace(swapped, kind=Exchange.TRAYS)) == ((), None)


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({}, WORD.REVERSED),
        ({"p_reversed": 0.8, "p_with": 1.0, "scale": 1.0}, WORD.NARROWER),
        ({"p_reversed": 0.0, "p_flat": 0.81, "p_unsteady": 1.0}, None),
        ({"p_reversed": 0.0, "p_unsteady": 0.81, "p_with": 1.0}, WORD.UNSTEADY),
        ({"p_reversed": 0.0, "p_with": 0.9}, None),
        ({"scale": 1.3, "scale_low": 1.01, "scale_high": 1.6}, WORD.WIDER),
        ({"scale": 1.25, "scale_low": 1.01, "scale_high": 1.6}, WORD.WITH),
        ({"scale": 1.3, "scale_low": 1.0, "scale_high": 1.6}, WORD.WITH),
        ({"scale": 0.79, "scale_low": 0.6, "scale_high": 0.99}, WORD.NARROWER),
        ({"scale": 0.8, "scale_low": 0.6, "scale_high": 0.99}, WORD.WITH),
        ({"scale": 0.79, "scale_low": 0.6, "scale_high": 1.0}, WORD.WITH),
    ],
)
def test_the_word_for_somebody_on_a_note(told: dict[str, Any], word: AssessorWord | None) -> None:
    assert (SETTINGS.flag_probability, SETTINGS.with_panel_probability) == (0.8, 0.9)
    given: dict[str, Any] = {"p_flat": 0.0, "p_unsteady": 0.0, "p_with": 1.0, "p_reversed": 0.0}
    given |= {"p_reversed": 0.95} if not told else {}
    if told.get("p_reversed") == 0.8:
        told = {**told, "scale": 0.7, "scale_low": 0.5, "scale_high": 0.9}
    person: PersonOverSessions = replace(MODEL, **{**given, **told})
    assert person.word(SETTINGS) is word


def over(**more: Any) -> NoteOverSessions:
    told: dict[str, Any] = {
        "n_assessors": 5,
        "reliability": 0.6,
        "reliability_low": 0.5,
        "span": 10.0,
    }
    return NoteOverSessions("smoke", 5, 12, **{**told, **more})


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({}, None),
        ({"n_assessors": 4}, "fewer than 5 assessors"),
        ({"reliability": 0.59}, "did not tell the samples apart"),
        ({"span": 9.9}, "within 10 points of one another"),
        ({"reliability": None}, "the one model says nothing of it"),
        ({"reliability": None, "reason": "scored once"}, "scored once"),
    ],
)
def test_why_nobody_is_judged_by_a_note(told: dict[str, Any], why: str | None) -> None:
    found = over(**told)
    assert why is None or why in (found.not_judging(SETTINGS) or "")
    assert (found.not_judging(SETTINGS) is None) is (why is None)
    assert (found.facts(3) is None) is (found.reliability is None)
    assert over(reliability_low=None).facts(3) is None


def test_what_is_near_a_persons_health_takes_three_sessions() -> None:
    flat, once = (PanelSlope(0.0, 0.01, 0.08, 0.01, 0.08) for _ in "ab")
    assert flat_by_slopes("A", "wax", [flat, once], SETTINGS) == []
    (fact,) = flat_by_slopes("A", "wax", [flat] * 3, SETTINGS)
    assert (fact.assessor, fact.descriptor, fact.n_sessions) == ("A", "wax", 3)
    assert fact.probability > 0.8
    reads = PanelSlope(0.9, 1.0, 0.08, 1.0, 0.08)
    assert flat_by_slopes("A", "wax", [reads] * 3, SETTINGS) == []
    people = {
        name: replace(MODEL, assessor=name, p_flat=chance, n_sessions=n)
        for name, chance, n in (("B", 0.81, 3), ("A", 0.95, 4), ("C", 0.8, 5), ("D", 0.99, 2))
    }
    found = flat_over_sessions(over(people=people), SETTINGS)
    assert [(each.assessor, each.n_sessions) for each in found] == [("A", 4), ("B", 3)]
    assert flat_over_sessions(over(people=people, span=1.0), SETTINGS) == []


def test_how_a_tray_fits_the_others_is_a_correlation_over_all_notes() -> None:
    others = np.array([[[0.0, 1.0], [2.0, 3.0], [4.0, 8.0]]])
    left = np.array([[1.0, 2.0], [-1.0, -2.0], [1.0, 2.0]])
    own = np.array([[11.0, 5.0], [13.0, np.nan], [15.0, 25.0]])
    panel = SimpleNamespace(others=others, left=left, centred=own)
    for samples in ([0, 1, 2], [2, 1, 0]):
        at = np.array(samples)
        spread = np.array([1.0, 2.0])
        mine = own / spread - np.nanmean(own / spread, axis=0)
        theirs = np.where(np.isnan(own), 0.0, others[0][at] / spread)
        mine = np.nan_to_num(mine)
        wanted = (mine * theirs).sum() / np.sqrt((mine**2).sum() * (theirs**2).sum())
        assert Tray.fit(tray([0, 1, 2], panel=panel), at) == pytest.approx(wanted)
    panel.others = np.zeros((1, 3, 2))
    assert Tray.fit(tray([0, 1, 2], panel=panel), np.arange(3)) == 0.0


def test_this_sessions_slope_counts_with_those_before() -> None:
    flat = PanelSlope(0.0, 0.01, 0.08, 0.01, 0.08)
    note: Any = SimpleNamespace(
        **{"name": "wax", "slopes": {"A": flat, "B": flat, "C": "untold"}},
        **{"past_slopes": {"A": [flat] * 2, "C": [flat] * 3, "D": [flat] * 2}},
        not_judging=lambda _: None,
    )
    assert [(f.assessor, f.n_sessions) for f in _flat_by_slopes(note, SETTINGS)] == [
        *(("A", 3), ("C", 3))
    ]
    note.not_judging = lambda who: "nobody told it apart" if who == "A" else None
    assert [fact.assessor for fact in _flat_by_slopes(note, SETTINGS)] == ["C"]


def test_a_session_is_laid_beside_so_many_before_it_and_not_more() -> None:
    names = [f"S{at}" for at in range(8)]
    scores = pd.DataFrame({"session": names, "score": range(8)})
    earlier = pd.DataFrame({"session": ["E1"], "score": [99]})
    few = replace(SETTINGS, recent_sessions=3)
    for before, kept in ((5, ["S2", "S3", "S4"]), (2, ["E1", "S0", "S1"]), (3, ["S0", "S1", "S2"])):
        own, recent = _with_recent(scores, earlier, names[before], names[:before], few)
        assert own["session"].tolist() == [names[before]]
        assert recent["session"].tolist() == kept
    assert _with_recent(scores, None, "S2", names[:2], few)[1]["session"].tolist() == ["S0", "S1"]
