"""Pieces of a vatting's search and chance on a handful of casks: brute force and derivatives."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.bars import Bar
from analysis.vatting import LimitKind, MixingRule, old_draws, prices, stand_ins
from analysis.vatting import reach as reaching
from analysis.vatting.chance import Stream, _simulated_amounts, expect
from analysis.vatting.check import check
from analysis.vatting.conflict import _look, _without_band
from analysis.vatting.dive import keeps_limits
from analysis.vatting.faults import LimitsError
from analysis.vatting.integer import Layout
from analysis.vatting.known import _own_covariance
from analysis.vatting.learn import learn_mixing
from analysis.vatting.reach import _stopping
from analysis.vatting.records import _facts, bars_in
from analysis.vatting.relax import solve_relaxed
from analysis.vatting.swap import _kept, _rounded, _terms, swap_search
from analysis.vatting.task import make_task
from tests.analysis.vatting.test_rows_by_hand import LITRES, PARTS, TARGET, model_of, plain, task_of
from tests.houses.stocks import target_of

THREE = replace(LITRES, litres=354.0)
"""Three casks of 100 L at 60 %: 360 L at 50 %, 2 % over."""


@pytest.mark.parametrize("seed", range(4))
def test_swaps_find_the_best_of_all_choices_of_three(seed: int) -> None:
    stock = plain(9)
    stock.estimate[:] = np.random.default_rng(seed).uniform(5.0, 70.0, (9, 2))
    model = model_of(THREE, stock)
    choices = [np.isin(np.arange(9), some).astype(np.float64) for some in combinations(range(9), 3)]
    best = min(model.objective(one) for one in choices if keeps_limits(model, one))
    start = np.where(np.arange(9) < 3, 1.0, 0.0)
    found = swap_search(model, start, np.arange(9.0), 0.0, kicks=40)
    assert found.kept
    assert set(found.fractions.tolist()) == {0.0, 1.0}
    assert model.objective(found.fractions) == pytest.approx(best)


def test_a_search_by_swaps_begins_with_the_largest_fractions() -> None:
    model = model_of(replace(THREE, must_include=("C003",)), plain(5))
    start = np.array([0.2, 0.9, 0.5, 0.0, 0.4])
    assert _rounded(model, start).tolist() == [0.0, 1.0, 1.0, 1.0, 0.0]
    assert _rounded(model, np.zeros(5)).tolist() == [1.0, 0.0, 0.0, 1.0, 0.0]
    terms = _terms(model)
    assert _kept(terms, np.array([1.0, 1.0, 1.0, 0.0, 0.0]))
    assert not _kept(terms, np.array([1.0, 1.0, 0.0, 0.0, 0.0]))
    assert not _kept(terms, np.array([1.0, 1.0, 1.0, 1.0, 0.0]))


def test_whether_limits_stand_is_looked_at_with_whole_casks_and_with_draws() -> None:
    for limits in (THREE, replace(PARTS, litres=354.0)):
        model = _without_band(model_of(limits, plain(5)))
        assert _look(model, solve_relaxed(model)) is True
    lumps = _without_band(model_of(replace(THREE, litres=300.0), plain(5)))
    assert _look(lumps, solve_relaxed(lumps)) is False, "two casks are 240 L, three are 360"


def test_every_count_is_a_row_of_the_program() -> None:
    for limits, more in ((THREE, 0), (replace(THREE, casks_max=3), 1)):
        model = model_of(limits, plain(5))
        counts = [rows for rows, _ in Layout(model).rows()]
        assert sum(rows.shape[0] for rows in counts) == len(model.soft) + len(model.hard) + more


@pytest.mark.parametrize(
    ("exponent", "estimate"), [(1.0, (20.0, 50.0)), (0.5, (20.0, 50.0)), (0.5, (0.0, 50.0))]
)
def test_what_a_point_of_a_part_moves_the_mixture(
    monkeypatch: pytest.MonkeyPatch, exponent: float, estimate: tuple[float, float]
) -> None:
    """By differences of ``gain (sum share score^(1/n))^n``; below a point a score counts as one."""
    stock = plain(2, years_moved=[4.0, 2.0])
    stock.estimate[:] = np.array(estimate)[:, None]
    stock = replace(stock, added_sd=np.full((2, 2), 2.0), grown=np.full((2, 2), 3.0))
    rule = MixingRule(dict.fromkeys(("smoke", "plum"), exponent), dict.fromkeys(("plum",), 1.5))
    task = make_task(stock, TARGET, LITRES, rule)
    told: list[Any] = []
    monkeypatch.setattr(old_draws, "deciding", lambda *given: told.append(given))
    lines = tuple(SimpleNamespace(estimate=30.0, sd=sd) for sd in (0.5, 9.0))
    expected: Any = SimpleNamespace(lines=lines)
    old_draws.deciding_draws(task, np.arange(2), np.array([75.0, 25.0]), expected)
    at, variance, grown, added, years, _ = told[0]

    def mixed(first: float, second: float) -> float:
        return float((0.75 * first ** (1 / exponent) + 0.25 * second ** (1 / exponent)) ** exponent)

    a, b = np.maximum(estimate, 1.0)
    slope = np.array(
        [
            (mixed(a + 1e-4, b) - mixed(a - 1e-4, b)) / 2e-4,
            (mixed(a, b + 1e-4) - mixed(a, b - 1e-4)) / 2e-4,
        ]
    )
    assert grown == pytest.approx(3.0 * np.outer(slope, [1.0, 1.5]), rel=1e-5)
    assert added == pytest.approx((2.0 * np.outer(slope, [1.0, 1.5])) ** 2, rel=1e-5)
    assert variance == pytest.approx(np.maximum([0.25, 81.0], added))
    assert (at.tolist(), years.tolist()) == ([[30.0, 30.0]] * 2, [4.0, 2.0])


def test_joint_draws_that_choose_are_others_than_those_that_tell() -> None:
    stock = plain(2)
    draws = np.zeros((6, 2, 2))
    draws[0::2], draws[1::2] = 10.0, 50.0
    task = make_task(replace(stock, draws=draws), TARGET, LITRES, MixingRule(rule_sd=0.0))
    found = [
        _simulated_amounts(task, np.arange(2), np.array([0.5, 0.5]), 3, stream)
        for stream in (Stream.CHOOSING, Stream.TOLD)
    ]
    assert [part.shape for part in found] == [(3, 2)] * 2
    assert sorted(float(np.unique(part).item()) for part in found) == [10.0, 50.0]


def test_errors_that_casks_share_are_not_averaged_out() -> None:
    """Of errors that all casks share the vatting has the whole, of their own the root of a half."""
    stock = plain(2)
    stock.sd[:], stock.estimate[:] = 3.0, 40.0
    shared = replace(stock, loadings=np.full((2, 2, 1), 4.0))
    for each, sd in ((stock, 3.0 / np.sqrt(2.0)), (shared, np.hypot(3.0 / np.sqrt(2.0), 4.0))):
        task = make_task(each, TARGET, LITRES, MixingRule(rule_sd=0.0))
        lines = expect(task, np.arange(2), np.array([50.0, 50.0])).lines
        assert [line.sd for line in lines] == pytest.approx([sd] * 2, rel=0.05)


def test_what_blends_were_off_the_rule_before() -> None:
    """Half of 20 and half of 30 are 25 in proportion; nosed as 30 they were 5 above."""
    parts = pd.DataFrame(
        [
            {"blend": blend, "descriptor": "smoke", "share_lpa": 0.5, "estimate": at, "sd": 0.1}
            for blend in ("B1", "B2")
            for at in (20.0, 30.0)
        ]
    )
    nosed = pd.DataFrame(
        [{"blend": blend, "descriptor": "smoke", "estimate": 30.0, "se": 1.0} for blend in "12"]
    ).assign(blend=["B1", "B2"])
    (note,) = learn_mixing(parts, nosed).notes
    assert note.bias == pytest.approx(5.0, abs=0.01)
    assert "5.0 points above what was predicted" in note.sentence
    (low,) = learn_mixing(parts, nosed.assign(estimate=20.0)).notes
    assert low.bias == pytest.approx(-5.0, abs=0.01)
    assert "5.0 points below" in low.sentence
    for gain, predicted in ((1.2, 30.0), (1.6, 40.0), (5.0, 100.0)):
        found = learn_mixing(parts, nosed, MixingRule(gains={"smoke": gain}))
        assert found.blends["predicted"].tolist() == pytest.approx([predicted] * 2, abs=0.01)
        assert found.notes[0].bias == pytest.approx(30.0 - predicted, abs=0.01)


@pytest.mark.parametrize(
    ("row", "bars"),
    [
        ({"status": "filled"}, set()),
        ({"status": "emptied"}, {Bar.GONE}),
        ({"status": "leaking"}, {Bar.LEAKING}),
        ({"status": "on hold"}, {Bar.HOLD}),
        ({"hold_reason": "cork"}, {Bar.HOLD}),
        ({"owner": "Mill Trust"}, {Bar.OWNER}),
        ({"owner": None, "hold_reason": "", "status": np.nan}, set()),
        ({"status": "reserved"}, {Bar.RESERVED}),
        ({"status": "reserved", "reserved_l": 0.0}, {Bar.RESERVED}),
        ({"status": "reserved", "reserved_l": 40.0}, {Bar.PARTLY_RESERVED}),
        ({"reserved_l": 40.0}, {Bar.PARTLY_RESERVED}),
    ],
)
def test_what_a_row_of_casks_is_barred_by(row: dict[str, Any], bars: set[Bar]) -> None:
    casks = plain(1).casks.assign(**{name: [value] for name, value in row.items()})
    assert {each.bar for each in bars_in(casks)[0]} == bars


def test_a_row_that_says_nothing_has_no_figures() -> None:
    facts = _facts({"bulk_l": np.nan, "abv": 60.0, "gauge_age_years": pd.NA})
    assert (facts.bulk_litres, facts.abv_percent, facts.gauge_age_years) == (None, 60.0, None)


def test_only_a_hold_has_the_reason_of_the_hold_beside_it() -> None:
    stock = plain(4, status=["leaking", *["filled"] * 3], hold_reason=["cork", *[None] * 3])
    with pytest.raises(LimitsError) as refused:
        check(stock, TARGET, replace(THREE, must_include=("C000",)))
    said = [fault.text for fault in refused.value.faults]
    assert sum("(cork)" in one for one in said) == 1
    assert len([one for one in said if "C000 must be in" in one]) == 2


def test_the_line_that_stops_a_target_is_that_without_which_the_rest_comes_nearest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    notes = {"smoke": 36.0, "plum": 34.0}
    task = make_task(plain(), target_of(notes, 6.0), LITRES, MixingRule())
    model = replace(
        model_of(LITRES),
        soft=np.array([[1.0, 0, 0, 0], [0, 3.0, 0, 0], [0, 0, 0, 0.5]]),
        soft_line=np.array([0, 1, 1]),
        soft_weight=np.ones(3),
    )
    ones = np.ones(4)
    monkeypatch.setattr(reaching, "solve_relaxed", lambda _model: SimpleNamespace(fractions=ones))
    # Without smoke 3.5 points are missed, without plum 1.
    assert _stopping(task, model, np.array([1.0, 3.0, 0.5])) == "plum"
    assert _stopping(task, model, np.array([1.0, 0.0, 1e-7])) == "smoke", "plum is not missed"


def test_every_limit_but_the_quantity_is_searched_without(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(prices, "tighten", lambda _task, **asked: asked["lifted"])
    found = prices.search_without(task_of(replace(THREE, casks_max=3)))
    assert {each.key.kind for each in found} == {
        *(LimitKind.EXCESS, LimitKind.STRENGTH, LimitKind.CASKS_MAX, LimitKind.WHOLE)
    }
    lifted: list[Any] = [each.tightened for each in found]
    assert lifted == [{each.key} for each in found]


def test_a_stand_in_lies_nearest_and_of_two_as_near_costs_less() -> None:
    stock = plain(5)
    stock.estimate[:] = [[36.0, 34.0], [36.0, 34.0], [50.0, 34.0], [36.0, 34.0], [90.0, 90.0]]
    model = model_of(replace(LITRES, litres=236.0), stock)
    model = replace(model, cost=np.array([0.0, 3e-4, 0.0, 1e-4, 0.0]))
    rest = np.array([1.0, 0.0, 0.0, 0.0, 0.0])
    found = stand_ins.nearest_fitting(model, rest, np.ones(5), 2)
    assert found.tolist()[:2] == [3, 1]
    assert {0, 2}.isdisjoint(found.tolist()), "one is in, one failed"


def test_the_surest_of_the_nearest_stands_in(monkeypatch: pytest.MonkeyPatch) -> None:
    def chance(_task: object, _model: object, fractions: Any, stream: Stream) -> float:
        at = int(np.flatnonzero(fractions)[-1])
        return (0.1 * at if at < 3 else 0.05) + (0.01 if stream is Stream.TOLD else 0.0)

    monkeypatch.setattr(stand_ins, "_chance", chance)
    limits = replace(LITRES, litres=118.0)
    task, model = task_of(limits), model_of(limits)
    found = stand_ins._stand_in(task, model, np.array([1.0, 0.0, 0.0, 0.0]), 0)
    assert (found.failed, found.cask, found.litres) == ("C000", "C002", 100.0)
    assert found.probability == pytest.approx(0.21)
    assert not found.foretold


def test_errors_of_notes_are_independent_where_nobody_said_how_they_go_together() -> None:
    stock = plain(2)
    stock.sd[:] = [[2.0, 3.0], [4.0, np.nan]]
    found = _own_covariance(stock)
    assert found.tolist() == [[[4.0, 0.0], [0.0, 9.0]], [[16.0, 0.0], [0.0, 0.0]]]
    together = np.array([[[4.0, 1.0], [1.0, 9.0]]] * 2)
    held = replace(stock, covariance=together)
    assert _own_covariance(held).tolist() == together.tolist()
    assert _own_covariance(held) is not held.covariance
