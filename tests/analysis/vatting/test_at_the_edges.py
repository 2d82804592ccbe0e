"""What a vatting decides by a figure, on either side of it: ages, shares, bands, litres."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import sqrt
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.vatting import Basis, Drawing, Limits, MixingRule, Share, Stock
from analysis.vatting.chance import Expectation, Line
from analysis.vatting.eligible import Unfit, eligible_casks, share_members
from analysis.vatting.known import _apart
from analysis.vatting.limits import GaugeRule
from analysis.vatting.numbers import number_faults
from analysis.vatting.old_draws import deciding_draws
from analysis.vatting.pour import _reduced, pour, shares_reached
from analysis.vatting.safe import safe_share, sure_of
from analysis.vatting.task import Task, band_of, make_task
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 36.0, "plum": 34.0}, 6.0)
LITRES = Limits(litres=1000.0, abv_percent=50.0)
PARTS = replace(LITRES, drawing=Drawing.PART)
ALL4 = np.arange(4)
TARGET_LINES = ("smoke", "plum")


def plain(n: int = 4, **columns: Any) -> Stock:
    """Casks of 100 L at 60 % vol."""
    same: dict[str, Any] = {"bulk_l": [100.0] * n, "abv": [60.0] * n, "age_years": [12.0] * n}
    return stock_of(n, **{**same, "wood": ["oak butt"] * n, **columns})


def task_of(limits: Limits, stock: Stock | None = None) -> Task:
    return make_task(stock or plain(), TARGET, limits, MixingRule())


@pytest.mark.parametrize(
    ("limits", "ages", "reasons"),
    [
        (replace(LITRES, minimum_age_years=3.0), [3.0, 2.999, np.nan], ["", "LEGAL_AGE", "NO_AGE"]),
        (
            replace(LITRES, age_statement_years=12),
            [12.0, 11.9999, np.nan],
            ["", "UNDER_AGE", "NO_AGE"],
        ),
        # Moved on, a cask within two days of its birthday counts as younger.
        (
            replace(LITRES, age_statement_years=12, bottling_on=date(2026, 1, 25)),
            [12.0 - 7.9 / 365.25, 12.0 - 8.1 / 365.25, np.nan],
            ["", "UNDER_AGE", "NO_AGE"],
        ),
        (
            replace(LITRES, age_statement_years=12, bottling_on=date(2026, 1, 15)),
            [12.0, 11.9999, np.nan],
            ["", "UNDER_AGE", "NO_AGE"],
        ),
        (LITRES, [0.1, 2.0, np.nan], ["", "", ""]),
    ],
)
def test_ages_that_a_statement_and_the_law_ask(
    limits: Limits, ages: list[float], reasons: list[str]
) -> None:
    found = eligible_casks(plain(3, age_years=ages), TARGET_LINES, limits)
    assert list(found.reasons) == [Unfit[name] if name else "" for name in reasons]
    assert found.rows.tolist() == [row for row, name in enumerate(reasons) if not name]


def test_alcohol_and_gauges_that_are_asked_of_a_cask() -> None:
    enough = eligible_casks(
        plain(3, bulk_l=[100.0, 99.9, 200.0], reserved_l=[0.0, 0.0, 100.1]),
        *(TARGET_LINES, replace(PARTS, minimum_cask_lpa=60.0)),
    )
    assert list(enough.reasons) == ["", Unfit.TOO_LITTLE, Unfit.TOO_LITTLE]
    asked = replace(LITRES, gauge_max_age_years=3.0, gauge_rule=GaugeRule.REFUSE)
    old = plain(3, gauge_age_years=[3.0, 3.01, np.nan])
    assert [bool(why) for why in eligible_casks(old, TARGET_LINES, asked).reasons][:2] == [
        *(False, True),
    ]
    flagged = replace(asked, gauge_rule=GaugeRule.FLAG)
    assert not any(eligible_casks(old, TARGET_LINES, flagged).reasons)
    unknown = plain(2)
    unknown.sd[1, 0] = np.nan
    assert list(eligible_casks(unknown, TARGET_LINES, LITRES).reasons) == ["", Unfit.UNKNOWN]
    assert list(eligible_casks(unknown, ("plum",), LITRES).reasons) == ["", ""]


def test_records_that_are_numbers_are_shared_out_as_numbers() -> None:
    stock = plain(3, fill_number=[1, 2, 2], wood=["oak butt", "2", "barrel"])
    assert share_members(stock, "fill_number", ("2.0",)).tolist() == [False, True, True]
    assert share_members(stock, "wood", ("oak butt", "barrel")).tolist() == [True, False, True]
    assert not share_members(stock, "no record", ("x",)).any()


def test_litres_that_are_free() -> None:
    stock = plain(4, reserved_l=[0.0, 30.0, 0.0, 130.0], status=["filled"] * 2 + ["reserved"] * 2)
    assert stock.reserved_litres.tolist() == [0.0, 30.0, np.inf, 130.0]
    assert stock.available_litres.tolist() == [100.0, 70.0, 0.0, 0.0]
    assert plain(1, bulk_high=[110.0]).most_litres.tolist() == [110.0]
    assert plain(1, bulk_high=[np.nan]).most_litres.tolist() == [100.0]


@pytest.mark.parametrize(
    ("aim", "kappa", "low", "high"),
    [
        (40.0, 0.0, 35.0, 45.0),
        (40.0, 1.0, 37.0, 43.0),
        (40.0, 3.0, 39.75, 40.25),
        (5.0, 1.0, -np.inf, 8.0),
        (5.1, 1.0, 2.1, 8.1),
        (95.0, 1.0, 92.0, np.inf),
        (94.9, 1.0, 91.9, 97.9),
    ],
)
def test_a_band_is_drawn_in_and_free_beyond_the_line(
    aim: float, kappa: float, low: float, high: float
) -> None:
    task = make_task(plain(), target_of({"smoke": aim}, 5.0), LITRES, MixingRule())
    band = band_of(task, kappa, np.array([2.0]))
    assert (float(band.low[0]), float(band.high[0])) == pytest.approx((low, high))


def test_what_was_nosed_apart_only_is_apart() -> None:
    rows = [("A/1", 0, 5.0), ("A/1", 1, 5.0), ("B/1", 1, 5.0), ("C/1", 0, 5.0), ("D/1", 2, np.nan)]
    estimates = pd.DataFrame(rows, columns=["filling", "component", "estimate"])
    casks = pd.DataFrame({"filling": ["A/1", "B/1", "C/1", "D/1"]})
    profile = cast(Any, SimpleNamespace(estimates=estimates))
    assert _apart(profile, casks).tolist() == [False, True, False, False]


def test_shares_are_of_litres_of_alcohol_or_of_casks() -> None:
    stock = plain(3, abv=[60.0, 40.0, 50.0], wood=["barrel", "oak butt", "barrel"])
    limits = replace(
        LITRES, shares=tuple(Share("wood", ("oak butt",), 0.3, 0.5, basis) for basis in Basis)
    )
    found = shares_reached(stock, limits, np.arange(3), np.array([50.0, 100.0, 50.0]))
    assert [one.reached for one in found] == pytest.approx([0.5, 40.0 / 95.0, 1.0 / 3.0])
    assert all(one.held for one in found)
    over = [replace(one, reached=one.high + 1e-5) for one in found]
    under = [replace(one, reached=one.low - 1e-5) for one in found]
    assert not any(one.held for one in (*over, *under))


@pytest.mark.parametrize(
    ("abv", "water", "at"), [(50.0, True, 50.0), (49.9995, True, 50.0), (49.998, False, 49.998)]
)
def test_a_hair_below_the_bottling_strength_is_at_it(abv: float, water: bool, at: float) -> None:
    added, reason, found, final = _reduced(LITRES, 100.0, abv, abv)
    assert (added is not None, reason is None, found) == (water, water, at)
    assert final == pytest.approx(100.0, abs=0.01)
    assert _reduced(replace(LITRES, abv_percent=None), 100.0, abv, abv)[0] == 0.0


@pytest.mark.parametrize(
    ("abv", "litres", "decides"),
    [
        ([60.0, 40.0], [100.0, 150.0], [True, True]),
        ([60.0, 40.0], [100.0, 100.0], [True, False]),
        ([60.0, 60.0], [50.0, 100.0], [False, True]),
    ],
)
def test_an_old_draw_decides_by_its_share_of_pure_alcohol(
    abv: list[float], litres: list[float], decides: list[bool]
) -> None:
    """By hand: 36 +- 6, sd 3, 42 expected, 3.4 points grown: .500 within now; as nosed .714 for
    half of it, .751 for six tenths, and .675 for four, which is less than .2 away."""
    smoke, years = np.full((2, 1), 40.0), [5.0, 5.0]
    stock = stock_of(2, ["smoke"], bulk_l=[200.0] * 2, abv=abv, years_moved=years)
    stock = replace(stock, estimate=smoke, grown=np.full((2, 1), 3.4), added_sd=np.zeros((2, 1)))
    task = make_task(stock, target_of({"smoke": 36.0}, 6.0), PARTS, MixingRule())
    lines = (Line("smoke", 36.0, 6.0, 42.0, 3.0, 0.5, 1.0),)
    found = deciding_draws(
        task, np.arange(2), np.array(litres), Expectation(lines, 0.5, 0.0, "smoke")
    )
    assert found.tolist() == decides


def test_what_is_surely_there() -> None:
    known = {"bulk_error": [0.03] * 2, "bulk_shared": [0.01] * 2}
    stock = plain(2, abv_error=[0.004] * 2, abv_shared=[0.002] * 2, **known)
    rows = np.arange(2)
    z = 1.6449
    emptied = sure_of(stock, LITRES, rows, np.array([100.0, 100.0]))
    own = np.hypot(0.03, 0.004)
    assert 1.0 - emptied.low == pytest.approx(z * sqrt(own**2 / 2.0 + 0.012**2), rel=1e-3)
    assert emptied.high - 1.0 == pytest.approx(1.0 - emptied.low)
    poured = pour(stock, LITRES, rows, np.array([100.0, 100.0]))
    assert poured.sure_litres == pytest.approx(emptied.low * poured.final_litres)
    drawn = sure_of(stock, LITRES, rows, np.array([50.0, 50.0]))
    assert 1.0 - drawn.low == pytest.approx(z * sqrt(0.004**2 / 2.0 + 0.002**2), rel=1e-3)
    as_it_comes = replace(LITRES, abv_percent=None)
    assert sure_of(stock, as_it_comes, rows, np.array([50.0, 50.0])).low == 1.0
    share = safe_share(stock, LITRES, 480.0, np.full(2, 60.0))  # eight casks' alcohol, as four
    assert share.tolist() == pytest.approx([1.0 - z * (0.012 + own / 2.0)] * 2, rel=1e-3)
    few = safe_share(stock, replace(LITRES, casks_max=2), 480.0, np.full(2, 60.0))
    assert few.tolist() == pytest.approx([1.0 - z * (0.012 + own)] * 2, rel=1e-3)
    assert safe_share(plain(2), LITRES, 480.0, np.full(2, 60.0)).tolist() == [1.0, 1.0]


@pytest.mark.parametrize(
    ("limits", "faults"),
    [
        (Limits(bottles=1), 0),
        (Limits(bottles=0), 1),
        (Limits(), 1),
        (Limits(bottles=1, litres=1.0), 1),
        (Limits(litres=0.0), 1),
        (Limits(bottles=1, bottle_ml=0.0), 1),
        (Limits(bottles=1, loss_fraction=0.0), 0),
        (Limits(bottles=1, loss_fraction=1.0), 1),
        (Limits(bottles=1, abv_percent=0.0), 1),
        (Limits(bottles=1, abv_percent=100.0), 0),
        (Limits(bottles=1, abv_percent=100.1), 1),
        (Limits(bottles=1, age_statement_years=0, excess_fraction=0.0), 0),
        (Limits(bottles=1, excess_fraction=-0.1), 1),
        (Limits(bottles=1, excess_fraction=float("inf")), 1),
        (Limits(bottles=1, casks_min=1, casks_max=1, must_include=("C000",)), 0),
        (Limits(bottles=1, casks_min=0), 1),
        (Limits(bottles=1, casks_min=2, casks_max=1), 1),
        (Limits(bottles=1, casks_max=1, must_include=("C000", "C000")), 0),
        (Limits(bottles=1, casks_max=1, must_include=("C000", "C001")), 1),
        (Limits(bottles=1, bottling_on=date(2026, 1, 15)), 0),
        (Limits(bottles=1, bottling_on=date(2026, 1, 14)), 1),
        (Limits(bottles=1, leave_litres=0.0), 0),
        (Limits(bottles=1, leave_litres=5.0), 1),
        (Limits(bottles=1, leave_litres=5.0, drawing=Drawing.PART), 0),
    ],
)
def test_figures_that_are_asked_at_their_ends(limits: Limits, faults: int) -> None:
    assert len(list(number_faults(plain(2), limits))) == faults


def test_how_much_is_asked() -> None:
    assert Limits(bottles=985).final_litres == pytest.approx(700.0)
    assert Limits(litres=350.0).final_litres == 350.0
    assert [Limits(drawing=one).window for one in Drawing] == [0.03, 0.01]
    assert Limits(excess_fraction=0.0).window == 0.0
    near = Share.about("wood", "oak butt", 0.005)
    assert (near.low, near.high) == (0.0, 0.015)
    assert Share.about("wood", "oak butt", 0.995).high == 1.0
