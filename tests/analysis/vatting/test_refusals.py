from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from analysis.errors import AnalysisError, FrameError
from analysis.vatting import (
    Basis,
    Drawing,
    FaultKind,
    GaugeRule,
    Limits,
    LimitsError,
    NoVatting,
    Share,
    Stock,
    VattingPlan,
    plan_vatting,
)
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 35.0, "plum": 35.0}, 20.0)
LITRES = Limits(litres=800, excess_fraction=0.2)


def cells(column: str, first: Any, others: Any) -> dict[str, Any]:
    """A column of twelve cells of which the first is special."""
    return {column: [first] + [others] * 11}


def refused(limits: Limits, stock: Stock | None = None) -> LimitsError:
    with pytest.raises(LimitsError) as caught:
        plan_vatting(stock or stock_of(12), TARGET, limits)
    return caught.value


NUMBERS = [
    Limits(),
    Limits(bottles=100, litres=70),
    Limits(bottles=0),
    Limits(litres=-5),
    Limits(litres=float("nan")),
    replace(LITRES, bottle_ml=0),
    replace(LITRES, loss_fraction=1.0),
    replace(LITRES, abv_percent=101),
    replace(LITRES, age_statement_years=-1),
    replace(LITRES, smallest_draw_litres=-1),
    replace(LITRES, leave_litres=-1, drawing=Drawing.PART),
    replace(LITRES, casks_min=0),
    replace(LITRES, casks_min=5, casks_max=4),
    replace(LITRES, excess_fraction=-0.1),
    replace(LITRES, bottling_on=date(2020, 1, 1)),
]


@pytest.mark.parametrize("limits", NUMBERS)
def test_numbers_that_mean_nothing(limits: Limits) -> None:
    assert refused(limits).kinds == {FaultKind.NUMBER}


def test_wishes_that_exclude_each_other() -> None:
    error = refused(
        replace(
            LITRES,
            leave_litres=60,
            must_include=("C001", "C002"),
            must_exclude=("C002",),
            casks_max=1,
        )
    )
    assert error.kinds >= {FaultKind.CONTRADICTION}
    assert "C002 must be in and must not be in" in str(error)
    assert "Whole casks leave nothing" in str(error)
    assert "2 casks must be in, and at most 1" in str(error)


@pytest.mark.parametrize(
    ("shares", "text"),
    [
        ((Share.about("make", "Reed", 0.7), Share.about("make", "Ember", 0.6)), "more than"),
        ((Share.about("make", "Reed", 0.3), Share.about("make", "Ember", 0.3)), "no cask is of"),
        ((Share("make", ("Reed",), 0.6, 0.4),), "not a range"),
        ((Share.about("make", "Reed", 0.3), Share.about("make", "Reed", 0.2)), "in 2 shares"),
    ],
)
def test_shares_that_do_not_add_up(shares: tuple[Share, ...], text: str) -> None:
    error = refused(replace(LITRES, shares=shares))
    assert error.kinds == {FaultKind.SHARES}
    assert text in str(error)


def test_shares_on_different_bases_are_added_apart() -> None:
    shares = (
        Share("make", ("Reed",), 0.5, 0.9, Basis.BULK),
        Share("make", ("Ember",), 0.1, 0.6, Basis.CASKS),
    )
    plan = plan_vatting(stock_of(12), TARGET, replace(LITRES, shares=shares))
    assert plan.n_eligible == 12


def test_shares_of_records_that_are_not_there() -> None:
    shares = (Share.about("wood", "oak but", 0.3), Share.about("woodd", "oak butt", 0.3))
    error = refused(replace(LITRES, shares=shares))
    assert error.kinds == {FaultKind.UNKNOWN_VALUE}
    assert "oak butt" in str(error)
    assert "The nearest: wood" in str(error)


def test_a_bottling_strength_above_every_cask() -> None:
    error = refused(replace(LITRES, abv_percent=63.0))
    assert error.kinds == {FaultKind.STRENGTH}
    assert "the strongest has" in str(error)


def test_more_bottles_than_stock_says_how_many_there_are() -> None:
    stock = stock_of(10, abv=[46.0] * 10, bulk_l=[100.0] * 10)
    error = refused(Limits(bottles=20_000, loss_fraction=0.0), stock)
    assert error.kinds == {FaultKind.QUANTITY}
    assert "at most 1,428 bottles" in str(error)  # 1,000 L at 46 % in 0.7 L


def test_more_bottles_than_so_few_casks_hold() -> None:
    error = refused(Limits(bottles=2000, casks_max=3))
    assert "in 3 casks" in str(error)


def test_a_cask_under_age_that_must_be_in() -> None:
    stock = stock_of(12, age_years=[11.99] + [15.0] * 11)
    error = refused(replace(LITRES, age_statement_years=12, must_include=("C000",)), stock)
    assert error.kinds == {FaultKind.AGE}
    assert "C000 must be in, but is too young for the age statement" in str(error)


def test_no_cask_old_enough() -> None:
    assert refused(replace(LITRES, age_statement_years=40)).kinds == {FaultKind.AGE}


def test_a_regauge_too_old_to_rely_on() -> None:
    stock = stock_of(12, gauge_age_years=[9.0] + [1.0] * 11)
    limits = replace(LITRES, gauge_max_age_years=5.0, must_include=("C000",))
    flagged = plan_vatting(stock, TARGET, limits)
    assert isinstance(flagged, VattingPlan)
    notes = {part.cask: part.note for part in flagged.mixture.parts}
    assert notes["C000"] == "litres and strength are from a regauge 9.0 years old"
    error = refused(replace(limits, gauge_rule=GaugeRule.REFUSE), stock)
    assert error.kinds == {FaultKind.GAUGE}
    assert "Regauge it" in str(error)


def test_a_target_with_descriptors_nobody_scored() -> None:
    with pytest.raises(LimitsError) as caught:
        plan_vatting(stock_of(12), target_of({"smok": 30.0, "plum": 20.0}), LITRES)
    assert caught.value.kinds == {FaultKind.DESCRIPTORS}
    assert "The nearest: smoke" in str(caught.value)
    assert "Correct the name, or score that note" in str(caught.value)


def test_several_notes_that_nobody_scored_are_told_in_one_sentence() -> None:
    with pytest.raises(LimitsError) as caught:
        plan_vatting(stock_of(12), target_of({"hay": 30.0, "ink": 2.0, "plum": 20.0}), LITRES)
    (fault,) = caught.value.faults
    assert "has the lines 'hay', 'ink', on which no cask has an estimate." in fault.text
    assert fault.text.endswith("Score those notes in a session first.")


@pytest.mark.parametrize(
    ("column", "value", "kind"),
    [
        ("hold_reason", "cork note", FaultKind.HOLD),
        ("status", "leaking", FaultKind.HOLD),
        ("owner", "Mill Trust", FaultKind.OWNER),
        ("status", "reserved", FaultKind.RESERVED),
        ("reserved_l", 40.0, FaultKind.RESERVED),
    ],
)
def test_casks_that_are_not_for_the_taking(column: str, value: Any, kind: FaultKind) -> None:
    default: Any = {"status": "filled", "reserved_l": 0.0}.get(column)
    stock = stock_of(12, **cells(column, value, default))
    error = refused(replace(LITRES, must_include=("C000",)), stock)
    assert error.kinds == {kind}
    plan = plan_vatting(stock, TARGET, LITRES)
    assert isinstance(plan, VattingPlan)
    assert "C000" not in plan.mixture.casks


@pytest.mark.parametrize(
    ("column", "value"), [("hold_reason", "cork note"), ("owner", "Mill Trust")]
)
def test_asked_for_by_name_they_may_go_in_and_are_noted(column: str, value: str) -> None:
    stock = stock_of(12, **cells(column, value, None))
    plan = plan_vatting(stock, TARGET, replace(LITRES, must_include=("C000",), asked=("C000",)))
    assert isinstance(plan, VattingPlan)
    assert value in next(part.note or "" for part in plan.mixture.parts if part.cask == "C000")


def test_an_owner_may_be_asked_for_as_a_whole() -> None:
    stock = stock_of(12, owner=["Mill Trust"] * 12)
    assert FaultKind.QUANTITY in refused(LITRES, stock).kinds
    assert isinstance(
        plan_vatting(stock, TARGET, replace(LITRES, owners=("Mill Trust",))), VattingPlan
    )


def test_reserved_litres_stay_in_the_cask() -> None:
    stock = stock_of(4, bulk_l=[200.0] * 4, reserved_l=[150.0] * 4)
    limits = Limits(litres=230, drawing=Drawing.PART, smallest_draw_litres=10)
    plan = plan_vatting(stock, TARGET, limits)
    assert isinstance(plan, VattingPlan)
    assert all(part.litres_left >= 150.0 - 1e-9 for part in plan.mixture.parts)
    assert refused(replace(limits, litres=300), stock).kinds == {FaultKind.QUANTITY}


def test_unknown_casks_are_named_with_the_nearest() -> None:
    error = refused(replace(LITRES, must_include=("C0O1",), must_exclude=("Z9",), asked=("C01",)))
    assert error.kinds == {FaultKind.UNKNOWN_CASK}
    assert len(error.faults) == 3
    assert "The nearest: C0" in str(error)


def test_all_faults_are_told_at_once() -> None:
    stock = stock_of(12, hold_reason=["cork note"] + [None] * 11)
    limits = Limits(
        bottles=900_000,
        shares=(Share.about("make", "Reed", 0.8), Share.about("make", "Ember", 0.7)),
        must_include=("C000", "Q1"),
    )
    with pytest.raises(LimitsError) as caught:
        plan_vatting(stock, target_of({"smoke": 30.0, "tar": 4.0}), limits)
    assert caught.value.kinds == {
        FaultKind.QUANTITY,
        FaultKind.SHARES,
        FaultKind.HOLD,
        FaultKind.UNKNOWN_CASK,
        FaultKind.DESCRIPTORS,
    }
    assert isinstance(caught.value, AnalysisError)


def test_casks_without_estimates_are_left_out_and_counted() -> None:
    stock = stock_of(12)
    stock.estimate[3, 1] = np.nan
    plan = plan_vatting(stock, TARGET, LITRES)
    assert isinstance(plan, VattingPlan)
    assert plan.barred == {"without estimates on every line of the target": 1}
    error = refused(replace(LITRES, must_include=("C003",)), stock)
    assert error.kinds == {FaultKind.DESCRIPTORS}


def test_a_cask_that_comes_twice_or_arrays_that_do_not_fit() -> None:
    stock = stock_of(3)
    with pytest.raises(FrameError, match="More than one filling is in cask C000"):
        replace(stock, casks=stock.casks.assign(cask="C000"))
    with pytest.raises(FrameError, match="have shape"):
        replace(stock, sd=np.ones((3, 5)))
    with pytest.raises(FrameError, match="Missing columns: abv"):
        replace(stock, casks=stock.casks.drop(columns="abv"))


def test_markup_in_a_cask_number_is_plain_text() -> None:
    names = ["[/x]", *[f"C{i}" for i in range(11)]]
    stock = stock_of(12, cask=names)
    plan = plan_vatting(stock, TARGET, replace(LITRES, must_include=("[/x]",)))
    assert not isinstance(plan, NoVatting)
    assert "[/x]" in plan.mixture.casks


def test_an_unknown_cask_is_named_once_however_it_was_asked_for() -> None:
    said = refused(replace(LITRES, must_include=("C0x",), asked=("C0x",)))
    unknown = [fault for fault in said.faults if fault.kind is FaultKind.UNKNOWN_CASK]
    assert len(unknown) == 1
