"""Rows, draws and steps of the search for a vatting, reckoned by hand."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import Any

import numpy as np
import pytest

from analysis.vatting import Basis, Drawing, Limits, MixingRule, Share, Stock
from analysis.vatting.dive import (
    _drop_smallest,
    _fix_next,
    _fix_remainder,
    _too_many,
    _use_more,
    keeps_limits,
)
from analysis.vatting.limits import NOTHING_LIFTED, LimitKey, LimitKind
from analysis.vatting.model import Model, _draw_range, _forced, _preferences, build_model
from analysis.vatting.relax import Relaxed, _relaxed_rows
from analysis.vatting.rows import count_rows, hard_rows, unlike_rows
from analysis.vatting.solve import screened
from analysis.vatting.stand_ins import stand_ins
from analysis.vatting.swap import _terms
from analysis.vatting.task import Task, band_of, make_task
from analysis.vatting.tighten import tighten
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 36.0, "plum": 34.0}, 6.0)
LITRES = Limits(litres=1000.0, abv_percent=50.0)
THREE = replace(LITRES, litres=354.0)
"""Three casks of 100 L at 60 %: 360 L at 50 %, 2 % over."""
PARTS = replace(LITRES, drawing=Drawing.PART)
ALL4 = np.arange(4)


def plain(n: int = 4, **columns: Any) -> Stock:
    """Casks of 100 L at 60 % vol."""
    same: dict[str, Any] = {"bulk_l": [100.0] * n, "abv": [60.0] * n, "age_years": [12.0] * n}
    return stock_of(n, **{**same, "wood": ["oak butt"] * n, **columns})


def task_of(limits: Limits, stock: Stock | None = None) -> Task:
    return make_task(stock or plain(), TARGET, limits, MixingRule())


def model_of(limits: Limits, stock: Stock | None = None) -> Model:
    task = task_of(limits, stock)
    return build_model(task, band_of(task))


@pytest.mark.parametrize(
    ("more", "bulk", "reserved", "low", "high", "can_empty"),
    [
        ({}, 200.0, 0.0, 0.1, 1.0, False),
        ({"leave_litres": 30.0}, 200.0, 0.0, 0.1, 0.85, True),
        # What would be left is less than asked, whatever is drawn: it is emptied or not used.
        ({"leave_litres": 30.0}, 45.0, 0.0, 1.0, 1.0, False),
        ({"leave_litres": 30.0}, 50.0, 0.0, 0.4, 0.4, True),
        ({"leave_litres": 30.0}, 200.0, 50.0, 20.0 / 150.0, 1.0, False),
        ({"minimum_cask_lpa": 30.0}, 200.0, 0.0, 0.25, 1.0, False),
        ({}, 15.0, 0.0, 1.0, 1.0, False),
        ({"drawing": Drawing.WHOLE}, 200.0, 0.0, 1.0, 1.0, False),
    ],
)
def test_how_much_of_a_cask_may_be_drawn(
    more: dict[str, Any], bulk: float, reserved: float, low: float, high: float, can_empty: bool
) -> None:
    stock = plain(1, bulk_l=[bulk], reserved_l=[reserved])
    task = task_of(replace(LITRES, **{"drawing": Drawing.PART, **more}), stock)
    found = _draw_range(task, np.array([0]), NOTHING_LIFTED)
    assert [float(each[0]) for each in found] == pytest.approx([low, high, float(can_empty)])


def test_small_preferences_are_for_young_common_well_known_casks() -> None:
    stock = plain(age_years=[12.0, 27.0, 60.0, 11.0], wood=["oak butt"] * 3 + ["barrel"])
    stock.sd[:] = [[2.4, 2.4], [2.4, 2.4], [2.4, 2.4], [24.0, 24.0]]
    found = _preferences(task_of(replace(LITRES, age_statement_years=12), stock), ALL4, np.ones(4))
    rare = 1.0 / sqrt(3.0)
    expected = [0.2 + rare, 0.5 + 0.2 + rare, 1.0 + 0.2 + rare, 1.0 + 1.0]
    assert (found * 3.0 / 0.001 * 500.0).tolist() == pytest.approx(expected)


def test_rows_that_a_vatting_must_keep() -> None:
    limits = replace(
        LITRES,
        shares=(
            Share("wood", ("barrel",), 0.2, 0.4),
            Share("wood", ("barrel",), 0.2, 0.4, Basis.LPA),
            Share("wood", ("barrel",), 0.2, 0.4, Basis.CASKS),
        ),
        casks_min=2,
        casks_max=3,
        excess_fraction=0.1,
    )
    stock = plain(2, abv=[60.0, 40.0], wood=["oak butt", "barrel"])
    task, rows = task_of(limits, stock), np.arange(2)
    found = [(key, row.tolist(), limit) for key, row, limit in hard_rows(task, rows, frozenset())]
    kinds = LimitKind
    expected = [
        (LimitKey(kinds.QUANTITY), [-0.12, -0.08], -1.00001),
        (LimitKey(kinds.EXCESS), [0.12, 0.08], 1.10002),
        (LimitKey(kinds.STRENGTH), [-0.1, 0.1], 0.0),
        (LimitKey(kinds.SHARE, 0), [-0.04, 0.06], 0.0),
        (LimitKey(kinds.SHARE, 0), [0.02, -0.08], 0.0),
        (LimitKey(kinds.SHARE, 1), [-0.048, 0.048], 0.0),
        (LimitKey(kinds.SHARE, 1), [0.024, -0.064], 0.0),
    ]
    assert [key for key, *_ in found] == [key for key, *_ in expected]
    for (_, row, limit), (_, wanted, most) in zip(found, expected, strict=True):
        assert (*row, limit) == pytest.approx((*wanted, most), abs=1e-12)
    counted = [(row.tolist(), most) for _, row, most in count_rows(task, rows, frozenset())]
    assert counted == [
        ([1.0, 1.0], 3.0),
        ([-1.0, -1.0], -2.0),
        (pytest.approx([-0.4, 0.6]), 0.0),
        (pytest.approx([0.2, -0.8]), 0.0),
    ]


@pytest.mark.parametrize(
    ("earlier", "most"),
    [(("C000",), 0.0), (("C000", "C001", "C002"), 1.0), (("C000", "C001", "C002", "C004"), 2.0)],
)
def test_an_answer_lacks_half_of_a_small_earlier_one(earlier: tuple[str, ...], most: float) -> None:
    task = task_of(replace(LITRES, must_include=("C003",)))
    ((_, row, limit),) = unlike_rows(task, ALL4, [(*earlier, "C003")])
    assert limit == most
    assert row.tolist() == [float(f"C00{k}" in earlier) for k in range(4)]


def test_of_a_large_earlier_answer_three_casks_are_lacking() -> None:
    names = [f"C{i:03d}" for i in range(8)]
    ((_, _, limit),) = unlike_rows(task_of(LITRES, plain(8)), np.arange(8), [names])
    assert limit == 5.0


def test_counts_of_casks_in_the_linear_answer() -> None:
    """A row over casks counts for fractions only where that leaves no answer out."""
    both, up, down = [1.0, -1.0, 0.0, 0.0], [1.0, 1.0, 0.0, 0.0], [-1.0, -1.0, 0.0, 0.0]
    whole = model_of(LITRES)
    counted = replace(
        whole, count=np.array([both, up, down]), count_limit=np.array([0.0, 1.0, -1.0])
    )
    n = len(whole.soft) + len(whole.hard)
    assert _relaxed_rows(counted).matrix[n:].tolist() == [both, up, down]
    part = replace(counted, whole=False, low=np.full(4, 0.2))
    assert _relaxed_rows(part).matrix[n:].tolist() == [up, [-5.0, -5.0, 0.0, 0.0]]
    from_none = replace(part, low=np.array([0.2, 0.0, 0.2, 0.2]))
    assert _relaxed_rows(from_none).matrix[n:].tolist() == [up]


def test_too_few_casks_take_in_the_cheapest() -> None:
    model = model_of(replace(PARTS, casks_min=3, smallest_draw_litres=20.0))
    model = replace(model, cost=np.array([0.0, 3.0, 1.0, 2.0]))
    least, most = np.zeros(4), np.ones(4)
    one = np.array([True, False, False, False])
    assert _use_more(model, one * 0.5, one, least, most)
    assert least.tolist() == [0.0, 0.0, 0.2, 0.2]
    assert not _use_more(model, np.zeros(4), ALL4 < 3, np.zeros(4), most)
    assert not _use_more(model, one * 0.5, one, np.zeros(4), np.zeros(4)), "none may be taken in"


def test_too_many_casks_leave_out_the_smallest_draw() -> None:
    model = model_of(replace(PARTS, casks_max=2, must_include=("C003",)))
    used = np.array([True, True, True, True])
    most = np.ones(4)
    assert _too_many(model, used) == 2
    _drop_smallest(model, np.array([0.5, 0.3, 0.4, 0.1]), used, most, 2)
    assert most.tolist() == [1.0, 0.0, 1.0, 1.0]
    two = np.array([True, False, False, True])
    assert _too_many(model, two) == 0
    still = np.ones(4)
    _drop_smallest(model, two * 0.5, two, still, 0)
    assert still.tolist() == [1.0] * 4


@pytest.mark.parametrize(
    ("fractions", "dropping", "least", "most"),
    [
        ([0.5, 0.3, 0.4, 0.25], True, [0.0] * 4, [1.0, 1.0, 1.0, 0.0]),
        ([0.5, 0.09, 0.0, 0.0], True, [0.0] * 4, [1.0, 0.0, 1.0, 1.0]),
        ([0.5, 0.09, 0.0, 0.0], False, [0.0, 0.2, 0.0, 0.0], [1.0] * 4),
        ([0.5, 0.1, 0.0, 0.0], True, [0.0, 0.2, 0.0, 0.0], [1.0] * 4),
        ([0.5, 0.2, 0.0, 0.0], True, None, None),
    ],
)
def test_what_stands_in_the_way_of_pouring_is_fixed_one_after_another(
    fractions: list[float], dropping: bool, least: list[float] | None, most: list[float] | None
) -> None:
    """Of 20 L at least: a cask too many goes; under half a smallest draw goes or is raised."""
    model = model_of(replace(PARTS, casks_max=3, smallest_draw_litres=20.0))
    found, low, high = np.array(fractions), np.zeros(4), np.ones(4)
    fixed = _fix_next(model, found, found > 0.0, low, high, dropping=dropping)
    assert fixed is (least is not None)
    assert (low.tolist(), high.tolist()) == (least or [0.0] * 4, most or [1.0] * 4)


def test_a_cask_too_many_weighs_a_tenth_of_overstepping_a_quantity_by_all_of_it() -> None:
    terms = _terms(model_of(replace(LITRES, casks_max=2)))
    assert terms.matrix[:, -1].tolist() == [0.1] * 4
    assert terms.limit[-1] == 0.2


def test_a_remainder_that_may_not_stay_is_taken_or_left() -> None:
    model = model_of(replace(PARTS, leave_litres=30.0))
    fractions = np.array([0.70, 0.80, 0.90, 0.0])  # at most .7 is drawn, or all
    least, most = np.zeros(4), np.ones(4)
    assert _fix_remainder(model, fractions, fractions > 0.0, least, most)
    assert (least.tolist(), most.tolist()) == ([0, 0, 1, 0], [1, 0.7, 1, 1])
    at_an_end = np.array([0.7, 1.0, 0.3, 0.0])
    assert not _fix_remainder(model, at_an_end, at_an_end > 0.0, np.zeros(4), np.ones(4))


def test_what_keeps_the_limits() -> None:
    limits = replace(PARTS, litres=120.0, leave_litres=30.0, excess_fraction=0.5, casks_max=2)
    model = model_of(replace(limits, must_include=("C000",)))
    assert keeps_limits(model, np.array([0.5, 0.6, 0.0, 0.0]))
    assert keeps_limits(model, np.array([1.0, 0.3, 0.0, 0.0])), "emptied"
    for bad in (
        [0.5, 0.4, 0.0, 0.0],  # too little
        [1.0, 0.6, 0.0, 0.0],  # too much
        [0.75, 0.4, 0.0, 0.0],  # leaves 25 L
        [0.7, 0.19, 0.3, 0.0],  # three casks
        [0.0, 0.7, 0.4, 0.0],  # without the one that must be in
        [1.0, 0.1, 0.0, 0.0],  # less than the smallest draw
    ):
        assert not keeps_limits(model, np.array(bad)), bad


def test_a_program_sees_the_cheapest_and_all_that_must_be_seen() -> None:
    model = model_of(replace(LITRES, must_include=("C007",)), plain(20))
    row = np.where(np.isin(np.arange(20), [16, 17]), -0.8, 0.2)
    model = replace(model, count=row[None, :], count_limit=np.zeros(1))
    fractions = np.where(np.arange(20) == 11, 0.5, 0.0)
    cost = np.arange(20, dtype=np.float64)
    found = screened(model, Relaxed(True, 0.0, fractions, cost), most=8)
    assert found.tolist() == [*range(8), 11, 16]


def test_a_stand_in_of_a_part_gives_the_same_alcohol() -> None:
    stock = stock_of(12, seed=3, sd=3.0, bulk_l=[400.0] * 12)
    task = task_of(replace(PARTS, litres=600.0, excess_fraction=0.2), stock)
    chosen = tighten(task, kappas=(0.0,))
    assert chosen.mixture is not None
    abv = dict(zip(stock.names, stock.abv_percent, strict=True))
    lpa = {part.cask: part.lpa for part in chosen.mixture.parts}
    every = stand_ins(task, chosen)
    assert [one.failed for one in every] == sorted(lpa, key=lambda cask: -lpa[cask])
    found = [(one.failed, one.cask, one.litres or 0.0) for one in every if one.cask is not None]
    assert found
    assert [litres * abv[cask] / 100.0 for _, cask, litres in found] == pytest.approx(
        [lpa[failed] for failed, *_ in found]
    )


def test_a_cask_that_must_be_in_need_not_where_that_is_lifted() -> None:
    task = task_of(replace(LITRES, must_include=("C001", "C002")))
    lifted = frozenset({LimitKey(LimitKind.MUST_INCLUDE, 1)})
    assert _forced(task, ALL4, NOTHING_LIFTED).tolist() == [False, True, True, False]
    assert _forced(task, ALL4, lifted).tolist() == [False, True, False, False]
