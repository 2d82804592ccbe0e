"""What is found of one evening: camps, what somebody found first or alone, and words of a note."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, AssessorWord, Served
from analysis.agreement.one_session import camps
from analysis.agreement.one_session.camps import two_camps
from analysis.agreement.one_session.evening_finds import OwnTray, _standing, alone, earliest
from analysis.agreement.one_session.people import _together, _two_words, _word
from analysis.agreement.verdict.serving import said_of_order
from tests.analysis.agreement.indices.test_against_scipy import layout_of

SETTINGS = AgreementSettings()


def opposed(within: float, across: float, monkeypatch: pytest.MonkeyPatch, p: float = 0.001) -> Any:
    """Four and four, with so much likeness within and across."""
    rng = np.random.default_rng(1)
    casks = np.array([5.0, 20.0, 35.0, 50.0, 65.0, 80.0])
    way = np.repeat([1.0, -1.0], 4)
    table = 50.0 + way[:, None] * (casks - 42.0) + rng.normal(0.0, 6.0, (8, 6))
    monkeypatch.setattr(camps, "_with_own", lambda *_: within)
    monkeypatch.setattr(camps, "_with", lambda *_: across)
    monkeypatch.setattr(camps, "_axis_p", lambda *_: p)
    monkeypatch.setattr(camps, "_opposed_p", lambda *_: p / 2.0)
    return two_camps(layout_of(table), 10, SETTINGS)


def test_two_camps_are_each_of_one_mind_and_opposed(monkeypatch: pytest.MonkeyPatch) -> None:
    least = SETTINGS.with_panel_correlation
    found = opposed(least, -least, monkeypatch)
    assert {found.one, found.other} == {tuple("ABCD"), tuple("EFGH")}
    assert (found.within, found.across, found.p) == (least, -least, 0.001)
    assert opposed(least - 0.01, -0.9, monkeypatch) is None, "a camp that is not of one mind"
    assert opposed(0.9, 0.01 - least, monkeypatch) is None, "camps that are not opposed"
    assert opposed(0.9, -0.9, monkeypatch, p=SETTINGS.false_share / 10.0) is not None
    assert opposed(0.9, -0.9, monkeypatch, p=SETTINGS.false_share / 9.9) is None, "of ten notes"


def test_likeness_within_a_camp_and_across() -> None:
    rows = np.array([[1.0, 0.0], [0.6, 0.8], [-1.0, 0.0], [0.0, -1.0]])
    first = np.array([True, True, False, False])
    assert camps._with_own(rows, first) == pytest.approx(0.6)
    assert camps._with_own(rows, ~first) == pytest.approx(0.0)
    mean = np.array([-0.5, -0.5])
    wanted = np.mean([rows[0] @ mean, rows[1] @ mean]) / np.linalg.norm(mean)
    assert camps._with(rows[first], rows[~first]) == pytest.approx(wanted)
    standing = camps._standing(layout_of(np.array([[1.0, 2.0, 6.0], [4.0, 4.0, 4.0]])))
    assert standing[0] == pytest.approx(np.array([-2.0, -1.0, 3.0]) / np.sqrt(14.0))
    assert standing[1].tolist() == [0.0, 0.0, 0.0]


def test_how_far_a_glass_stands_out() -> None:
    assert _standing(np.array([1.0, 3.0, 5.0])) == pytest.approx([-(1.5**0.5), 0.0, 1.5**0.5])
    assert _standing(np.array([7.0, 7.0])).tolist() == [0.0, 0.0]
    assert _standing(np.array([1.0, np.nan, 3.0])).tolist() == [-1.0, 0.0, 1.0]


def test_the_first_glass_in_which_a_note_stood_out() -> None:
    """Well above its mean for the person and the others, and not below the least."""
    high, low = np.array([5.0, 5.0, 5.0, 40.0]), np.array([40.0, 5.0, 5.0, 5.0])
    smoke = OwnTray(tuple("wxyz"), high, high, 0.0)
    wax = OwnTray(tuple("wxyz"), low, low, 0.0)
    apart = OwnTray(tuple("wxyz"), high, low, 0.0)
    places = pd.DataFrame({"assessor": "A", "sample": list("wxyz"), "position": [4, 3, 2, 1]})
    found = earliest([("wax", wax), ("smoke", smoke), ("peel", apart)], places, "A", 40.0)
    assert found is not None
    assert (found.descriptor, found.sample, found.place) == ("smoke", "z", 1)
    assert (found.own, found.others) == (40.0, 40.0)
    assert earliest([("smoke", smoke)], places, "A", 40.1) is None
    assert earliest([("peel", apart)], places, "A", 1.0) is None, "the others found it elsewhere"
    assert earliest([("smoke", smoke)], places, "B", 1.0) is None, "whose places nobody knows"
    twice = earliest([("smoke", smoke), ("again", smoke)], places, "A", 1.0)
    assert twice is not None
    assert twice.descriptor == "smoke", "of two in one glass the first"


def test_a_note_found_again_by_one_alone() -> None:
    rows = [("A", "x", 30.0), ("A", "x", 12.0), ("A", "y", 40.0), ("A", "z", 9.0), ("A", "z", 50.0)]
    rows += [(who, s, 0.0) for who in "BCDEFGHIJK" for s in "xyz"]
    frame = pd.DataFrame(rows, columns=["assessor", "sample", "score"])
    tests = frame.assign(descriptor="wax", scale_low=0.0)
    assert SETTINGS.tolerance == 10.0
    found = alone(["wax"], tests, "A", SETTINGS)
    assert found is not None
    assert (found.descriptor, found.sample, found.own) == ("wax", "x", 12.0)
    assert alone(["peel"], tests, "A", SETTINGS) is None
    others = tests.assign(score=tests["score"].where(tests["assessor"] == "A", 20.0))
    assert alone(["wax"], others, "A", SETTINGS) is None


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"n_again": 1}, "1 glass nosed again in a later class"),
        ({"n_again": 2}, "2 glasses nosed again in a later class"),
        ({"n_again": 0}, "of which nothing is known: in twelve months"),
        ({"n_again": 0, "hidden": True}, "of which nothing is told yet"),
        ({"n_again": 1, "by_pouring": True}, "all glasses of a pouring before all of the next"),
    ],
)
def test_what_is_said_of_classes(told: dict[str, Any], said: str) -> None:
    found = said_of_order(Served.CLASSES, 2, **told)
    assert said in (found.sentence or "")
    assert (found.sentence or "").endswith(f": {found.next_action}.")
    assert ("pouring" in (found.sentence or "").split(":")[0]) is bool(told.get("by_pouring"))


def person(word: AssessorWord | None, scale: float = 1.0, n: int = 4) -> Any:
    return SimpleNamespace(word=lambda _: word, scale=scale, n_sessions=n)


def test_the_last_sessions_speak_unless_it_is_of_these_glasses() -> None:
    standing: Any = SimpleNamespace(allowed=lambda word, scale: word if scale == 1.0 else None)
    wide, flat = AssessorWord.WIDER, AssessorWord.FLAT
    assert _together(flat, None, None, standing, SETTINGS) == (flat, None)
    assert _together(flat, None, person(wide), standing, SETTINGS) == (flat, None)
    assert _together(None, None, person(wide), standing, SETTINGS) == (wide, None)
    word, why = _together(wide, None, person(wide, 2.0), standing, SETTINGS)
    assert word is None
    assert str(why).count("over 4 sessions") == 1


def test_two_words_of_one_person() -> None:
    found: Any = SimpleNamespace(
        descriptor="smoke", signal_share=0.4, evening_verdict=None, n_sessions=3
    )
    over: Any = SimpleNamespace(people={"A": person(AssessorWord.WITH)})
    assert _two_words("A", found, over, SETTINGS).lately is AssessorWord.WITH
    assert _two_words("B", found, over, SETTINGS).lately is None
    assert _two_words("A", found, None, SETTINGS).lately is None
    untold: Any = SimpleNamespace(**{**vars(found), "signal_share": None})
    assert _two_words("A", untold, over, SETTINGS).lately is None


def test_a_note_not_scored_says_why_nobody_is_judged() -> None:
    standing: Any = None
    note: Any = SimpleNamespace(
        figures=SimpleNamespace(effect=SimpleNamespace(reason="one sample only")),
        not_judging=lambda _: "nobody told it apart",
    )
    for given, said in ((None, "one sample only"), ("only twice", "only twice")):
        word, why = _word(cast(Any, given), "A", note, standing, SETTINGS)
        assert word is None
        assert said in str(why)
