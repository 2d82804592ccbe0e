"""A limit that is loosened fills a release; whether it is then made its notes say too."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from analysis.array_types import Floats
from analysis.chance_words import in_100
from analysis.stock_plan import MendKind, PlanQuestion, StockPlan, plan_stock
from analysis.stock_plan.result import SURE_ENOUGH, Mend
from analysis.stock_plan.verdict import loosened_sentence
from analysis.vatting import Limits, Stock
from analysis.vatting.limits import LimitKind

from .houses import day, question, release, stock

OLD = Limits(litres=400.0, abv_percent=46.0, excess_fraction=0.4, age_statement_years=20)


def aged(first: Floats) -> PlanQuestion:
    """A label of 20 years; two casks each of 18, 16 and 14, which have the first note so."""
    there: Stock = stock(np.column_stack([first, np.full(6, 30.0)]), 0, np.full(6, 190.0), sd=0.5)
    ages = pd.Series([18.5, 18.5, 16.5, 16.5, 14.5, 14.5])
    there = replace(there, casks=there.casks.assign(age_years=ages))
    asked = release("R0", 0, (30.0, 30.0), OLD)
    return replace(question(0), stocks={day(2027): there}, releases=(asked,))


def loosened(plan: StockPlan) -> list[Mend]:
    return [each for each in plan.releases[0].mends if each.kind is MendKind.LOOSEN]


def test_a_limit_goes_as_far_as_the_notes_ask_where_that_helps() -> None:
    """Those of 18 years fill it and are far off; with those of 16 it is made, and no younger."""
    plan = plan_stock(aged(np.array([60.0, 60.0, 30.0, 30.0, 30.0, 30.0])))
    (mend,) = loosened(plan)
    assert mend.limit is LimitKind.AGE
    assert mend.is_enough
    chance = in_100(mend.probability or 0.0)
    assert mend.sentence == f"R0 can be filled with 16 years on the label ({chance})"
    assert plan.next_action == mend.sentence
    assert plan.releases[0].in_the_way is None


def test_what_fills_a_release_that_then_fails_is_not_told_as_a_remedy() -> None:
    plan = plan_stock(aged(np.full(6, 60.0)))
    (mend,) = loosened(plan)
    assert not mend.is_enough
    said = "R0 would have its quantity with 18 years on the label, and still fail by its notes "
    assert mend.sentence == f"{said}(below 1 in 100; plans count 50 in 100 as made)"
    assert plan.next_action == "change R0, or what it may take"
    way = plan.releases[0].in_the_way
    assert way is not None
    assert way.sentence == "In the way of R0 stands the age statement of 20 years."


def test_what_counts_as_made_is_told_as_that() -> None:
    assert loosened_sentence("R0", "with 3 casks", None) == "R0 can be filled with 3 casks"
    told = loosened_sentence("R0", "with 3 casks", SURE_ENOUGH)
    assert told == "R0 can be filled with 3 casks (50 in 100)"
    assert "can be filled" not in loosened_sentence("R0", "with 3 casks", SURE_ENOUGH - 0.01)
