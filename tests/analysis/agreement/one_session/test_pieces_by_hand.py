"""Pieces of one session's agreement: trays, camps, what is found, and what a note is judged by."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, Served
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.repeat import Repeat
from analysis.agreement.one_session import figures
from analysis.agreement.one_session.descriptors import (
    _adjusted,
    _facts,
    _over_visits,
    _repeat_figures,
    _within,
)
from analysis.agreement.one_session.figures import _design, _mixed_model
from analysis.agreement.one_session.trays import Panel, TrayNote
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
    some = pd.DataFrame([("A", "x", 1, 1.0, "ok", 5.0)], columns=rows.columns)
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
    assert _facts(none, None, True, SETTINGS).absent
    none.figures.layout = layout_of(np.full((3, 3), 7.0))
    assert not _facts(none, None, True, SETTINGS).absent, "all alike, and not the low end"


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
