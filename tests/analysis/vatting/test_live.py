from __future__ import annotations

import json

import numpy as np
import pytest

from analysis.vatting import (
    Drawing,
    FaultKind,
    LimitKind,
    Limits,
    LimitsError,
    MixingRule,
    Share,
    VattingPlan,
    plan_vatting,
    try_shares,
)
from analysis.vatting.rows import most_of_quantity, shares_of_quantity
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 36.0, "plum": 34.0}, 6.0)
LIMITS = Limits(litres=1500, drawing=Drawing.PART, smallest_draw_litres=30, leave_litres=50)
RULE = MixingRule({"smoke": 0.5})


def test_the_plan_tried_by_hand_says_the_same() -> None:
    stock = stock_of(60, seed=2, sd=4.0)
    plan = plan_vatting(stock, TARGET, LIMITS, RULE)
    assert isinstance(plan, VattingPlan)
    parts = {part.cask: part.litres for part in plan.mixture.parts}
    tried = try_shares(stock, parts, TARGET, LIMITS, RULE)
    assert tried.broken == ()
    assert tried.mixture.parts == plan.mixture.parts
    assert tried.mixture.poured == plan.mixture.poured
    assert tried.mixture.probability == pytest.approx(plan.probability, abs=1e-12)


def test_a_share_moved_by_hand_moves_the_profile() -> None:
    stock = stock_of(4, ["smoke"], sd=0.0, abv=[60.0] * 4)
    stock.estimate[:, 0] = [80.0, 5.0, 5.0, 5.0]
    bulk = stock.bulk_litres
    small = {"C000": 10.0, "C001": 90.0}
    target = target_of({"smoke": 20.0})
    tried = try_shares(stock, small, target, LIMITS, RULE)
    assert tried.mixture.expectation.lines[0].estimate == pytest.approx(25.7, abs=0.05)
    assert tried.mixture.parts[0].litres_left == pytest.approx(bulk[1] - 90.0)
    more = try_shares(stock, {**small, "C000": 20.0}, target, LIMITS, RULE)
    assert more.mixture.expectation.lines[0].estimate > 30.0


def test_what_is_not_kept_is_told_not_refused() -> None:
    stock = stock_of(
        6,
        age_years=[9.0] + [15.0] * 5,
        bulk_l=[200.0] * 6,
        abv=[45.0] * 6,
        hold_reason=["cork note"] + [None] * 5,
        reserved_l=[0.0, 190.0, 0.0, 0.0, 0.0, 0.0],
    )
    limits = Limits(
        litres=1500,
        drawing=Drawing.PART,
        smallest_draw_litres=30,
        leave_litres=50,
        casks_min=5,
        age_statement_years=12,
        must_include=("C005",),
        shares=(Share("cask", ("C000",), 0.5, 0.6),),
    )
    parts = {"C000": 10.0, "C001": 40.0, "C002": 170.0}
    broken = try_shares(stock, parts, TARGET, limits).broken
    told = " ".join(each.sentence for each in broken)
    assert "short of 1,500 litres" in told
    assert "It cannot be reduced: the vat has 45.00 % vol" in told
    assert "fewer than 5" in told
    assert "Cask C000 is on hold" in told
    assert "Cask C005 must be in and is not" in told
    assert "Drawn less than 30 L: cask C000" in told
    assert "Left with less than 50 L: cask C002" in told
    assert "reserved elsewhere would be taken: cask C001" in told
    assert "by bulk litres is 4.5 %" in told
    whole = try_shares(stock, parts, TARGET, Limits(litres=1500)).broken
    assert any("would not be empty" in each.sentence for each in whole)
    assert [(each.key.kind, each.casks) for each in broken] == [
        (LimitKind.QUANTITY, ()),
        (LimitKind.STRENGTH, ()),
        (LimitKind.SHARE, ()),
        (LimitKind.CASKS_MIN, ()),
        (LimitKind.BARRED, ("C000",)),
        (LimitKind.AGE, ("C000",)),
        (LimitKind.MUST_INCLUDE, ("C005",)),
        (LimitKind.RESERVED, ("C001",)),
        (LimitKind.SMALLEST_DRAW, ("C000",)),
        (LimitKind.LEAVE, ("C002",)),
    ]
    assert (LimitKind.WHOLE, ("C000", "C001", "C002")) in [
        (each.key.kind, each.casks) for each in whole
    ]


def test_every_bar_of_a_cask_is_told_not_the_first() -> None:
    stock = stock_of(
        3, age_years=[9.0, 15.0, 15.0], hold_reason=["cork note", None, None], status="filled"
    )
    stock.casks.loc[0, ["status", "owner"]] = ["on hold", "Mill Trust"]
    limits = Limits(
        litres=100, drawing=Drawing.PART, age_statement_years=12, must_exclude=("C000",)
    )
    broken = try_shares(stock, {"C000": 60.0, "C001": 60.0}, TARGET, limits).broken
    told = [each.sentence for each in broken if each.casks == ("C000",)]
    assert told == [
        "Cask C000 is on hold.",
        "Cask C000 is of another owner.",
        "Cask C000 is too young for the age statement.",
        "Cask C000 is left out by name.",
    ]


def test_too_weak_a_vat_has_no_water_and_a_reason() -> None:
    stock = stock_of(3, abv=[45.0] * 3)
    poured = try_shares(stock, {"C000": 50.0}, TARGET, LIMITS).mixture.poured
    assert poured.water_litres is None
    assert "below the bottling strength" in (poured.water_reason or "")
    json.dumps(try_shares(stock, {"C000": 50.0}, TARGET, LIMITS).to_dict())


@pytest.mark.parametrize(
    ("parts", "kind"),
    [
        ({}, FaultKind.QUANTITY),
        ({"C000": 0.0}, FaultKind.QUANTITY),
        ({"C999": 10.0}, FaultKind.UNKNOWN_CASK),
        ({"C000": -1.0, "C001": 5.0}, FaultKind.NUMBER),
        ({"C000": 5000.0}, FaultKind.QUANTITY),
        ({"C002": 50.0}, FaultKind.DESCRIPTORS),
        ({"C003": 50.0}, FaultKind.UNUSABLE_CASK),
    ],
)
def test_what_cannot_be_reckoned_is_refused(parts: dict[str, float], kind: FaultKind) -> None:
    stock = stock_of(5, abv=[60.0, 60.0, 60.0, np.nan, 60.0])
    stock.estimate[2, 0] = np.nan
    with pytest.raises(LimitsError) as caught:
        try_shares(stock, parts, TARGET, LIMITS)
    assert kind in caught.value.kinds


@pytest.mark.parametrize("abv", [46.0, None])
def test_what_a_search_takes_for_its_limit_over_the_quantity_is_not_over_it_by_hand(
    abv: float | None,
) -> None:
    """Gauges in doubt: counted one by one casks hold less than their vat is sure to."""
    in_doubt = [0.04] * 12
    stock = stock_of(
        12, ["smoke"], sd=0.0, bulk_l=[200.0] * 12, abv=[60.0] * 12, bulk_error=in_doubt
    )
    target, needed = target_of({"smoke": 36.0}), 400.0 if abv is None else 400.0 * 60.0 / abv
    limits = Limits(litres=needed, abv_percent=abv, excess_fraction=0.12)
    share = shares_of_quantity(stock, limits)
    assert 0.4 < share.min() <= share.max() < 0.5
    every = np.arange(len(stock), dtype=np.intp)
    most = most_of_quantity(stock, limits, every)
    names = [str(name) for name in stock.names[:3]]
    beyond = Limits(litres=needed, abv_percent=abv, excess_fraction=0.0)
    assert "over" in "".join(
        try_shares(stock, dict.fromkeys(names, 200.0), target, beyond).broken_words
    )
    part = (most - share[:2].sum()) / share[2]
    assert 0.0 < part < 1.0
    parts = {names[0]: 200.0, names[1]: 200.0, names[2]: 200.0 * part}
    tried = try_shares(stock, parts, target, limits)
    assert LimitKind.EXCESS not in {each.key.kind for each in tried.broken}
    assert tried.mixture.poured.sure_litres > needed * 1.12
