"""Pieces of a profile's fit on a few numbers: when it rests, where it begins, what is compared."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.profile import begin
from analysis.profile.alone import _inflation, _told
from analysis.profile.begin import begun
from analysis.profile.compared import Compared, _compared, _order, _reason, _usable
from analysis.profile.equations import assessor_share
from analysis.profile.fit import MAX_ROUNDS, TOLERANCE, NotSettledError
from analysis.profile.followed import OwnSample, _Local
from analysis.profile.links import Link
from analysis.profile.predict import Prediction
from analysis.profile.serving import _told_by_samples_themselves
from analysis.profile.sites import Fitted, Sites
from analysis.profile.still import Still
from analysis.profile.table import _order as order_of_glasses
from analysis.profile.terms import ASSESSOR, ASSESSOR_SESSION
from analysis.profile.words import apart

BEYOND, WITHIN = object(), None


def look(*tau: float, variance: float = 4.0, ends: object = BEYOND, squares: float = 1.0) -> Any:
    """A round with samples at *tau*, each with a standard error of 2 by default."""
    return SimpleNamespace(
        problem=SimpleNamespace(ends=ends),
        squares=squares,
        tau_variance=np.full(len(tau), variance),
        solution=SimpleNamespace(tau=np.array(tau)),
    )


@pytest.mark.parametrize(
    ("then", "rests"),
    [
        # Within six tenths of a tenth of a standard error of 2: .12.
        (look(1.119, 5.0), True),
        (look(1.121, 5.0), False),
        (look(1.0, 4.879), False),
        # A standard error may change by a quarter of that: a log of .015, .03 in the variance.
        (look(1.0, 5.0, variance=4.0 * np.exp(0.0299)), True),
        (look(1.0, 5.0, variance=4.0 * np.exp(0.0301)), False),
        (look(1.0, 5.0, squares=np.exp(-0.0301)), False),
    ],
)
def test_a_fit_rests_where_samples_stay_and_are_as_sure(then: Any, rests: bool) -> None:
    still = Still(0.1, all_to_go=False)
    assert still.at(look(1.0, 5.0)) is False, "nothing to lay the first round beside"
    assert still.at(then) is rests


def test_scores_within_the_line_are_looked_at_only_where_asked() -> None:
    within = look(1.0, ends=WITHIN), look(9.0, ends=WITHIN)
    assert [Still(0.1, all_to_go=False).at(one) for one in within] == [True, True]
    always = Still(0.1, all_to_go=False, always=True)
    assert [always.at(one) for one in within] == [False, False]
    assert always.at(within[1]) is True


def test_what_a_steady_creep_has_to_go_counts_where_asked() -> None:
    """Steps of .1 sd and each half of the last: within .06 by itself, and by all that follow it."""
    places = np.cumsum([0.0, 0.2, 0.1, 0.05])
    for all_to_go, rests in ((False, [False, True, True]), (True, [False, False, True])):
        still = Still(0.1, all_to_go=all_to_go)
        still.at(look(0.0))
        assert [still.at(look(float(tau))) for tau in places[1:]] == rests


def test_a_glass_without_a_place_has_no_order() -> None:
    code = np.array([0, 0, 1], dtype=np.intp)
    none = order_of_glasses((code, code, code), np.full(3, np.nan), np.ones((3, 1)))
    assert none.tolist() == [[0.0, 0.0]] * 3
    one, person, sample = (
        np.array(c, dtype=np.intp) for c in ([0] * 4, [0, 0, 1, 1], [0, 1, 0, 1])
    )
    place = np.array([1.0, 2.0, 2.0, 1.0])
    smoke = np.array([[10.0, np.nan], [40.0, 50.0], [20.0, np.nan], [np.nan, np.nan]])
    found = order_of_glasses((one, person, sample), place, smoke)
    # The panel makes 15 of the first sample and 45 of the second; each has what stood before.
    assert found[:, 0].tolist() == [-0.5, 0.5, 0.5, -0.5]
    assert found[:, 1].tolist() == [0.0, -15.0, 15.0, 0.0]


@pytest.mark.parametrize(
    ("place", "told"),
    [
        ([-1.0, 1.0, -1.0, 1.0], False),
        ([-1.0, 1.0, 1.0, -1.0], True),
        # (1 + x)^2 / 2 beside 2 + x^2: a twentieth at -.5234.
        ([-1.0, 1.0, -0.525, 1.0], False),
        ([-1.0, 1.0, -0.52, 1.0], True),
    ],
)
def test_whether_the_same_samples_stood_in_several_places(place: list[float], told: bool) -> None:
    system: Any = SimpleNamespace(
        n=2,
        weight=np.array([1.0, 0.5, 1.0, 0.5]),
        layout=SimpleNamespace(glasses=SimpleNamespace(sample=np.array([0, 1, 0, 1]))),
    )
    columns = np.column_stack([place, np.arange(4.0)])
    # By hand: each place less its sample's mean, squares by weight, against those of the places.
    weight, at = system.weight, columns[:, 0]
    middle = np.array([np.average(at[[0, 2]]), np.average(at[[1, 3]])])[[0, 1, 0, 1]]
    share = (weight * (at - middle) ** 2).sum() / (weight * at**2).sum()
    assert bool(share >= 0.05) is told
    assert _told_by_samples_themselves(system, columns) is told


def beginning(monkeypatch: pytest.MonkeyPatch, *, large: bool, sparse: bool) -> Any:
    monkeypatch.setattr(begin, "_is_large", lambda _: large)
    monkeypatch.setattr(begin, "goes_sparse", lambda _: sparse)
    monkeypatch.setattr(begin, "first_look", lambda _: "a first look")
    return lambda ends, earlier: begin._start(
        cast(Any, SimpleNamespace(ends=ends, terms=("sample", "filling"))), earlier
    )


@pytest.mark.parametrize(
    ("large", "sparse", "ends", "begins"),
    [
        (False, False, WITHIN, "an earlier fit"),
        (False, True, WITHIN, "an earlier fit"),
        (False, False, BEYOND, "the scores alone"),
        (True, False, WITHIN, "a first look"),
        (True, False, BEYOND, "a first look"),
        (True, True, WITHIN, "an earlier fit"),
        (True, True, BEYOND, "an earlier fit"),
    ],
)
def test_where_a_fit_begins(
    monkeypatch: pytest.MonkeyPatch, large: bool, sparse: bool, ends: object, begins: str
) -> None:
    start = beginning(monkeypatch, large=large, sparse=sparse)
    same: Any = SimpleNamespace(ratios={"filling": 1.0, "sample": 2.0})
    other: Any = SimpleNamespace(ratios={"sample": 2.0})
    told = {"an earlier fit": same, "the scores alone": None, "a first look": "a first look"}
    assert start(ends, same) == told[begins]
    without = None if begins == "the scores alone" or (large and sparse) else "a first look"
    assert start(ends, other) == without, "an earlier fit of other terms is none"
    assert start(ends, None) == without


def test_a_fit_that_does_not_settle_begins_anew_without_a_start(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[tuple[Any, Any]] = []
    problem: Any = SimpleNamespace(ends=WITHIN, terms=())

    def fit(_problem: Any, start: Any = None, **told: Any) -> str:
        asked.append((start, told))
        if start is not None:
            raise NotSettledError(None)
        return "settled"

    beginning(monkeypatch, large=False, sparse=False)
    monkeypatch.setattr(begin, "fit_descriptor", fit)
    assert cast(Any, begun(problem, None)) == "settled"
    assert [start for start, _ in asked] == ["a first look", None]
    assert asked[0][1] == asked[1][1]
    assert asked[0][1] == {"tolerance": TOLERANCE, "all_to_go": False, "by_samples": False}
    monkeypatch.setattr(begin, "first_look", lambda _: None)
    monkeypatch.setattr(begin, "fit_descriptor", lambda *_, **__: fit(_, start="x"))
    with pytest.raises(NotSettledError, match=f"in {MAX_ROUNDS} rounds"):
        begun(problem, None)


def test_of_whose_scale_it_is_that_a_fit_does_not_settle() -> None:
    for scale, who in (([0.001, 0.5, 0.2], 1), ([0.001, 0.002, 0.0], None)):
        change: Any = SimpleNamespace(scale=np.array(scale))
        assert NotSettledError(change).assessor == who
    assert NotSettledError(None).assessor is None


def rows_of(*rows: tuple[str, str | None, str | None, str, float]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["sample", "cask", "filling", "last_nosed", "estimate"])
    frame["last_nosed"] = pd.to_datetime(frame["last_nosed"])
    return frame.assign(drawn_on=frame["last_nosed"], kind="test", descriptor="smoke", component=0)


ROWS = rows_of(
    ("x1", "X", "X/1", "2026-01-05", 20.0),
    ("x2", "X", "X/1", "2026-02-05", 25.0),
    ("y1", "Y", "Y/1", "2026-01-05", 30.0),
    ("z1", "Z", None, "2026-02-05", 40.0),
    ("r1", None, None, "2026-02-05", 40.0),
    ("n1", "N", "N/1", "2026-02-05", np.nan),
)
ONE, OTHER = Link(("S1",), ("x1", "y1")), Link(("S2",), ("x2", "z1", "r1", "n1"))


def test_which_draws_may_be_compared() -> None:
    assert _usable(ROWS, None)["sample"].tolist() == ["x1", "x2", "y1", "z1"]
    assert _usable(ROWS, {"X/1", "N/1"})["sample"].tolist() == ["x1", "x2", "z1"]


def test_the_part_with_most_casks_then_the_latest_is_compared() -> None:
    usable = _usable(ROWS, None)
    part = usable["sample"].map({"x1": 0, "y1": 0, "x2": 1, "z1": 1})
    assert _order(usable, part, 3) == ([2, 2, 0], [1, 0, 2])
    more = usable["sample"].map({"x1": 0, "y1": 0, "x2": 0, "z1": 1})
    assert _order(usable, more, 2) == ([2, 1], [0, 1])


def test_what_is_compared_and_what_that_leaves_out() -> None:
    usable = _usable(ROWS, None)
    found = _compared(usable, (ONE, OTHER), [2, 2])
    assert found == Compared(("S1",), 2, ("Z",), ("X",), is_tied=True)
    assert _compared(usable, (OTHER, ONE), [2, 1]) == Compared(("S2",), 2, ("Y",))
    assert _compared(usable, (ONE,), [2]) is None, "there is one part only"
    assert _compared(usable.iloc[:0], (ONE, OTHER), [0, 0]) is None, "no cask may be used"


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Compared(("S1",), 1, ()), "the 1 cask of session S1: the part with most"),
        (Compared(("S1", "S2"), 2, (), is_tied=True), "the 2 casks of sessions S1 and S2: of the"),
        (Compared(("S1",), 2, ("Y",)), "1 cask is left out of it (Y)."),
        (Compared(("S1",), 2, ("Y", "Z")), "2 casks are left out of it (Y and Z)."),
        (Compared(("S1",), 2, (), ("X",)), "Of X an earlier draw stands"),
    ],
)
def test_what_is_compared_in_words(found: Compared, said: str) -> None:
    assert said in found.sentence
    assert ("left out" in found.sentence) is bool(found.left_out)
    assert ("earlier draw" in found.sentence) is bool(found.earlier)


def test_only_the_reason_of_being_apart_is_said_anew() -> None:
    assert _reason(apart(1), True) == apart(0)
    assert _reason(apart(1), False) == apart(1)
    assert _reason(None, False) == apart(1)
    assert _reason(None, True) == apart(0)
    assert _reason("every score alike", True) == "every score alike"


def test_what_the_scores_alone_say_of_a_sample() -> None:
    """A deviation of which a share is known, undone; 16 between samples, 1 of it common."""
    found = Prediction(np.array([34.0, 26.0]), np.array([5.0, 17.5]), 1.0, np.full(2, 30.0), NONE)
    told, noise = _told(found, 16.0)
    # 4 of 16 are the first sample's own error: three quarters are known. Of the second, nothing.
    assert told[0] == pytest.approx(4.0 / 0.75)
    assert noise[0] == pytest.approx(16.0 * 0.25 / 0.75)
    assert abs(told[1]) > 100.0
    sure = Prediction(np.array([34.0]), np.array([0.5]), 1.0, np.full(1, 30.0), NONE)
    assert _told(sure, 16.0)[0] == pytest.approx(4.0, rel=1e-3), "no error below what is common"
    for between in (0.0, -1.0):
        assert all(np.isnan(part).all() for part in _told(found, between))


NONE = np.empty((2, 0))


def test_pseudo_scores_show_no_errors_of_prediction() -> None:
    at: Any = SimpleNamespace(problem=SimpleNamespace(ends=BEYOND), system=SimpleNamespace(n=20))
    assert _inflation(at) == pytest.approx(1.0 + 8.0 / 20.0)
    none: Any = SimpleNamespace(
        problem=SimpleNamespace(ends=WITHIN), system=SimpleNamespace(has_samples=False)
    )
    assert _inflation(none) == 1.0


def test_what_a_glass_is_known_by_without_its_own_pseudo_score() -> None:
    """All of a glass is its sample: what else is fitted there is known to the last thousandth."""
    sites = Sites(np.array([10.0, 12.0]), np.array([0.25, 0.01]), *np.ones((4, 2)))
    found = Fitted(np.array([9.0, 9.0]), np.array([2.0, 4.0]), np.full(2, 4.0))
    own = OwnSample(
        np.zeros(2, dtype=np.intp), np.ones(2), np.array([9.0]), np.array([1.0]), np.array([1.0, 0])
    )
    local = _Local(sites, found, own)
    # Of the first 2 - 1 is left, known by 1 / 1 - .25; of the second 4, by .25 - .01.
    assert local._apart.tolist() == pytest.approx([1.0 / 0.75, 1.0 / 0.24])
    dear = Sites(sites.score, np.array([0.9999, 0.01]), *np.ones((4, 2)))
    assert _Local(dear, found, own)._apart[0] == pytest.approx(1000.0)
    half = Fitted(found.value, np.array([3.0, 4.0]), found.noise)
    dear = Sites(sites.score, np.array([0.5, 0.01]), *np.ones((4, 2)))
    assert _Local(dear, half, own)._apart[0] == pytest.approx(2000.0)
    assert local.fitted(sites).value == pytest.approx(found.value), "where nothing moves"


def test_how_an_assessor_follows_from_his_blocks() -> None:
    """With a between people and o between blocks: a / (o + n a) of them, and what that leaves."""
    layout = SimpleNamespace(block_counts=np.array([1.0, 4.0]))
    system: Any = SimpleNamespace(ratios={ASSESSOR: 2.0, ASSESSOR_SESSION: 3.0}, layout=layout)
    share, own = assessor_share(system)
    assert share == pytest.approx([2.0 / 5.0, 2.0 / 11.0])
    assert own == pytest.approx([2.0 * 3.0 / 5.0, 2.0 * 3.0 / 11.0])
    system.ratios = {ASSESSOR: 2.0}
    share, own = assessor_share(system)
    assert share == pytest.approx([1.0, 0.25])
    assert own == pytest.approx([0.0, 0.0])
    system.ratios = {}
    assert [part.tolist() for part in assessor_share(system)] == [[0.0, 0.0], [0.0, 0.0]]
