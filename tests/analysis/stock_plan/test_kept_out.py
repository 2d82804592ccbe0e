"""A cask that must be in and may not go in: its release fails with the reason, the others do not.

That a cask must be in which has no estimate, is too young or was gauged too long ago is no slip in
what was asked, as a name that no cask has is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.bars import Bar
from analysis.stock_plan import PlanQuestion, StockPlan, plan_stock
from analysis.vatting import Limits, LimitsError, Stock
from analysis.vatting.eligible import Reason, Unfit
from analysis.vatting.limits import GaugeRule

from .houses import day, question, release, stock


def asked_for(name: str, changed: Callable[[Stock], Stock]) -> PlanQuestion:
    """Three releases of nine casks on their aim, the first of which must have one."""
    limits = Limits(
        litres=400.0,
        abv_percent=46.0,
        excess_fraction=0.3,
        gauge_max_age_years=5.0,
        gauge_rule=GaugeRule.REFUSE,
        age_statement_years=8,
    )
    on_aim = np.full((9, 2), 30.0)
    stocks = {
        day(2027 + year): changed(stock(on_aim, year, np.full(9, 190.0))) for year in range(3)
    }
    releases = [release(f"R{year}", year, (30.0 + year, 30.0), limits) for year in range(3)]
    releases[0] = replace(releases[0], limits=replace(limits, must_include=(name,)))
    return replace(question(0), stocks=stocks, releases=tuple(releases))


def of_one(column: str, at: float, others: float) -> Callable[[Stock], Stock]:
    def changed(there: Stock) -> Stock:
        values = np.where(there.casks["cask"] == "C00", at, others)
        return replace(there, casks=there.casks.assign(**{column: values}))

    return changed


def unnosed(there: Stock) -> Stock:
    return replace(there, estimate=np.where(there.names[:, None] == "C00", np.nan, there.estimate))


@pytest.mark.parametrize(
    ("changed", "unfit", "act"),
    [
        (of_one("gauge_age_years", 6.0, 1.0), Bar.GAUGE, "regauge cask C00, or plan R0 without it"),
        (of_one("age_years", 4.0, 10.0), Unfit.UNDER_AGE, "plan R0 without cask C00"),
        (unnosed, Unfit.UNKNOWN, "draw and nose cask C00, or plan R0 without it"),
    ],
)
def test_a_must_have_that_is_unfit_fails_its_release_alone(
    changed: Callable[[Stock], Stock], unfit: Reason, act: str
) -> None:
    plan: StockPlan = plan_stock(asked_for("C00", changed))
    failed, *others = plan.releases
    assert [(each.cask, each.unfit, each.reserved) for each in failed.must_have] == [
        ("C00", unfit, False)
    ]
    assert not any(each.fails for each in others)
    assert f"R0 gets no cask: it asks for cask C00, which is {unfit}." in plan.sentence
    assert plan.next_action == act
    assert plan.together_not is not None
    said = f"R0 cannot be filled under its limits. It must have cask C00, which is {unfit}."
    assert plan.together_not.sentence == said
    assert "allow older" not in plan.sentence + plan.next_action


def test_a_must_have_that_is_not_there_or_to_be_left_out_is_refused() -> None:
    same = of_one("gauge_age_years", 1.0, 1.0)
    with pytest.raises(LimitsError, match=r"Release R0: Cask C99 \(must be in\) is not in stock"):
        plan_stock(asked_for("C99", same))
    asked = asked_for("C00", same)
    first, *others = asked.by_date
    both = replace(first, limits=replace(first.limits, must_exclude=("C00",)))
    with pytest.raises(LimitsError, match="Keep it on one of the two lists"):
        plan_stock(replace(asked, releases=(both, *others)))
