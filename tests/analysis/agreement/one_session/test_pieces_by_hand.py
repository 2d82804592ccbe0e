"""Pieces of one session's agreement: trays, camps, what is found, and what a note is judged by."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, AssessorWord, Served
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.repeat import Repeat
from analysis.agreement.one_session import camps, figures
from analysis.agreement.one_session.camps import two_camps
from analysis.agreement.one_session.descriptors import (
    _adjusted,
    _facts,
    _over_visits,
    _repeat_figures,
    _within,
)
from analysis.agreement.one_session.evening_finds import OwnTray, _standing, alone, earliest
from analysis.agreement.one_session.figures import _design, _mixed_model
from analysis.agreement.one_session.people import _together, _two_words, _word
from analysis.agreement.one_session.trays import Panel, TrayNote
from analysis.agreement.verdict.serving import said_of_order
from tests.analysis.agreement.indices.test_against_scipy import layout_of

SETTINGS = AgreementSettings()
TABLE = np.array([[10.0, 20.0, 36.0], [14.0, 26.0, 38.0], [30.0, 36.0, 54.0], [9.0, 21.0, 30.0]])


def panel(table: np.ndarray = TABLE, **more: Any) -> Panel:
    """Everybody's glasses of one note at half points, and of another that nobody scored."""
    people, samples = np.indices(table.shape)
    names = np.array(list("DCBA")), np.array(list("zyx"))
    rows = pd.DataFrame(
        {
            **{"assessor": names[0][people.ravel()], "sample": names[1][samples.ravel()]},
            **{"replicate": 1, "position": np.nan, "status": "ok", "score": 2.0 * table.ravel()},
        }
    )
    rows = rows[rows["score"].notna()]
    found = Panel.of([TrayNote(rows, **{"points": 0.5, "reliability": 0.8, "told": True, **more})])
    assert found is not None
    return found


def test_what_is_left_of_a_glass_beside_the_others() -> None:
    """The others' means, each person's level out, drawn to their middle by the reliability."""
    found = panel()
    assert (found.people, found.samples) == (tuple("ABCD"), tuple("xyz"))
    level = TABLE.mean(axis=1, keepdims=True)
    own = TABLE - level
    others = (own.sum(axis=0) - own) / 3.0
    others = 0.8 * (others - others.mean(axis=1, keepdims=True))
    # People and samples in order of their names.
    assert found.others[:, :, 0] == pytest.approx(others[::-1, ::-1])
    off = TABLE - others
    left = off - off.mean(axis=1, keepdims=True)
    by_glass = left[::-1, ::-1][found.person, found.sample]
    assert found.left[:, 0] == pytest.approx(by_glass)
    centred = TABLE - off.mean(axis=1, keepdims=True)
    assert found.centred[:, 0] == pytest.approx(centred[::-1, ::-1][found.person, found.sample])
    for who in range(4):
        assert found.left[found.person == who].sum() == pytest.approx(0.0)


def test_a_glass_that_was_not_scored_leaves_nothing() -> None:
    holed = TABLE.copy()
    holed[0, 0] = np.nan
    found = panel(holed)
    assert len(found.person) == 11
    own = found.left[found.person == 3, 0]
    assert len(own) == 2
    assert own.sum() == pytest.approx(0.0)


def test_notes_that_tell_nothing_lay_out_no_trays() -> None:
    rows = pd.DataFrame(columns=["assessor", "sample", "replicate", "position", "status", "score"])
    assert Panel.of([]) is None
    assert Panel.of([TrayNote(rows, 1.0, 0.8, told=True)]) is None, "without a glass"
    some = rows.assign(score=[])
    some.loc[0] = ["A", "x", 1, 1.0, "ok", 5.0]
    assert Panel.of([TrayNote(some, 1.0, 0.0, told=True)]) is None
    assert Panel.of([TrayNote(some, 1.0, 0.8, told=False)]) is None
    both = Panel.of([TrayNote(some, 1.0, 0.8, told=True), TrayNote(some, 2.0, 0.4, told=False)])
    assert both is not None
    assert (both.scores.tolist(), both.told.tolist()) == ([[5.0, 10.0]], [True, False])


def test_within_how_much_a_mean_would_lie() -> None:
    """1.96 sqrt 2 times the sd of a mean; four repeats are enough to say so, three are not."""
    four, three = Repeat(squares=64.0, df=4), Repeat(squares=48.0, df=3)
    assert _within(four, 2.5, 4) == pytest.approx(1.96 * np.sqrt(2.0) * 4.0 * 2.5 / 2.0)
    assert _within(three, 2.5, 4) is None
    assert _within(Repeat(), 1.0, 4) is None


def test_what_is_known_over_visits_takes_two_of_them() -> None:
    flight = SimpleNamespace(span=3.0)
    layout = cast(ScoreLayout, object())
    for visits, told in (
        ([layout], None),
        ([layout, None, None], None),
        ([layout, layout], 6.0),
        ([layout, layout, None], 6.0),
    ):
        note: Any = SimpleNamespace(flight=flight, visits=visits)
        assert _over_visits(note, 2.0) == told
    assert _over_visits(cast(Any, SimpleNamespace(flight=None, visits=[layout] * 2)), 2.0) is None


def note_of(**more: Any) -> Any:
    layout = layout_of(TABLE)
    told: dict[str, Any] = {
        **{"layout": layout, "reliability": None, "seen_difference": 4.0, "span": 12.0},
        **{"one_mind": False, "effect": SimpleNamespace(reason=None)},
    }
    given: dict[str, Any] = {
        **{"name": "smoke", "figures": SimpleNamespace(**told), "per_point": 2.0, "visits": []},
        **{"repeat": SimpleNamespace(n_duplicates=3, panel=Repeat()), "flight": None},
        **{"n_hidden": 1, "scale": (0.0, 50.0), "camps": None},
        "serving": SimpleNamespace(served=Served.FREE),
    }
    return SimpleNamespace(**{**given, **more})


@pytest.mark.parametrize(
    ("p", "significant"), [(None, False), (0.05, True), (0.0501, False), (1.0, False)]
)
def test_an_effect_stands_up_to_the_share_of_false_alarms(
    p: float | None, significant: bool
) -> None:
    assert SETTINGS.false_share == 0.05
    found = _facts(note_of(), p, False, SETTINGS)
    assert found.significant is significant
    assert (found.span, found.seen_difference) == (24.0, 8.0), "in points of the whole line"
    assert (found.n_assessors, found.n_samples, found.n_duplicates, found.n_hidden) == (4, 3, 3, 1)
    assert (found.alike, found.at_most, found.more, found.absent) == (False, None, None, False)
    assert (found.one_order, found.camps, found.mostly_zero) == (False, None, False)


def test_what_is_known_of_like_samples_goes_into_the_facts() -> None:
    flight = SimpleNamespace(alike=True, at_most=3.0, span=1.0, sessions=2)
    served = SimpleNamespace(served=Served.ONE_ORDER)
    both = SimpleNamespace(one=("A",), other=("B", "C"))
    found = _facts(note_of(flight=flight, serving=served, camps=both), 0.01, True, SETTINGS)
    assert (found.alike, found.at_most, found.more) == (True, 6.0, 2)
    assert (found.one_order, found.camps) == (True, (("A",), ("B", "C")))
    none = note_of()
    none.figures.layout = layout_of(np.zeros((3, 3)))
    assert _facts(none, None, True, SETTINGS).absent is True
    none.figures.layout = layout_of(np.full((3, 3), 7.0))
    assert _facts(none, None, True, SETTINGS).absent is False, "all alike, and not the low end"


def test_false_alarms_are_counted_over_the_notes_that_have_a_p() -> None:
    """Benjamini and Hochberg by hand: .01 * 3, .03 * 3 / 2, .04."""
    assert _adjusted([0.04, None, 0.01, 0.03]) == pytest.approx([0.04, None, 0.03, 0.04])
    assert _adjusted([None, None]) == [None, None]


def test_why_nothing_is_known_of_repeats() -> None:
    some: Any = SimpleNamespace(panel=Repeat(10.0, 2), n_duplicates=2, n_sessions=1)
    none: Any = SimpleNamespace(panel=Repeat(), n_duplicates=0, n_sessions=0)
    assert _repeat_figures(some, 3).reason is None
    assert "at the reveal" in (_repeat_figures(none, 3).reason or "")
    assert _repeat_figures(none, 0).reason == "no glass was nosed twice"


def cells_of(*samples: str) -> ScoreLayout:
    """Each assessor with some samples once, by their letters."""
    rows = [(who, s) for who, each in zip("ABCD", samples, strict=False) for s in each]
    frame = pd.DataFrame(rows, columns=["assessor", "sample"])
    score = np.arange(len(frame)) ** 2.0
    return ScoreLayout.of(frame.assign(replicate=1, score=score))


@pytest.mark.parametrize(
    ("samples", "fitted"),
    [(("xyz", "xyz"), True), (("xy", "yz"), True), (("xy", "z"), False), (("x", "y"), False)],
)
def test_a_model_takes_two_who_share_a_sample(
    monkeypatch: pytest.MonkeyPatch, samples: tuple[str, ...], fitted: bool
) -> None:
    monkeypatch.setattr(figures, "fit_reml", lambda *_, **__: "fitted")
    fit, reason = _mixed_model(cells_of(*samples))
    assert (fit is not None) is fitted
    assert reason == (None if fitted else "no two assessors share a sample")


def test_each_cell_has_a_level_of_the_interaction() -> None:
    a, s = np.array([0, 0, 0, 1, 1], dtype=np.intp), np.array([0, 0, 2, 1, 2], dtype=np.intp)
    design = _design(a.tobytes(), s.tobytes(), True)
    assert dict(zip(design.order, design.levels, strict=True)) == {"assessor": 2, "interaction": 4}
    assert design.fixed.tolist() == np.eye(3)[s].tolist()
    assert _design(a.tobytes(), s.tobytes(), False).order == ("assessor",)


def slope(true: float, correlation: float = 0.9) -> Any:
    return SimpleNamespace(true_slope=true, correlation=correlation)


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
    assert (
        _two_words(
            "A", SimpleNamespace(**{**vars(found), "signal_share": None}), over, SETTINGS
        ).lately
        is None
    )  # type: ignore[arg-type]


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
