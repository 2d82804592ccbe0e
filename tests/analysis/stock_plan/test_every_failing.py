"""Every release that fails is named or counted, and the joint chance is of those that do not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.chance_words import in_100
from analysis.stock_plan import PlanQuestion, StockPlan, plan_stock
from analysis.stock_plan.verdict import plan_sentence
from analysis.vatting import Limits
from panel.words.plan_words import casks_words

from .houses import day, question, release, stock

LIMITS = Limits(litres=400.0, abv_percent=46.0, excess_fraction=0.3)


def asked(*more: Limits) -> PlanQuestion:
    """Two releases on their aim by a little, one far off it, and such as have no casks."""
    on_aim = np.full((12, 2), 30.0)
    stocks = {day(2027): stock(on_aim, 0, np.full(12, 190.0), sd=1.5)}
    aims = [(30.0, 30.0), (30.5, 30.0), (45.0, 30.0)]
    releases = [release(f"R{at}", 0, aim, LIMITS) for at, aim in enumerate(aims)]
    releases += [release(f"R{at}", 0, (30.0, 30.0), each) for at, each in enumerate(more, 3)]
    return replace(question(0), stocks=stocks, releases=tuple(releases))


OLD = replace(LIMITS, age_statement_years=30)
YOUNG = replace(LIMITS, must_include=("C00",), age_statement_years=20)


@pytest.fixture(scope="module")
def plan() -> StockPlan:
    return plan_stock(asked(OLD, OLD, YOUNG, OLD))


def test_each_release_that_fails_is_named(plan: StockPlan) -> None:
    failing = [each.name for each in plan.releases if each.fails]
    assert failing == ["R2", "R3", "R4", "R5", "R6"]
    assert plan.sentence.endswith("R4 gets no cask. R5 and R6 fail too.")
    many = [replace(plan.release("R6"), name=f"F{at}") for at in range(8)]
    told = plan_sentence([plan.release("R0"), *many], None, 0, 2027)
    assert told.endswith("F2 gets no cask. F3, F4, F5 and 2 more fail too.")
    told = plan_sentence([plan.release("R0"), *many[:4]], None, 0, 2027)
    assert told.endswith("F2 gets no cask. F3 fails too.")


def test_each_has_its_reason_beside_it(plan: StockPlan) -> None:
    young = plan.release("R5")
    why = "no cask: it asks for cask C00, which is too young for the age statement."
    assert casks_words(young) == why
    assert casks_words(plan.release("R6")) == "no cask."
    for name in ("R3", "R4", "R6"):
        each = plan.release(name)
        assert each.mends or each.in_the_way is not None, name


def test_the_joint_chance_is_of_the_releases_that_are_made(plan: StockPlan) -> None:
    """What one release far off its aim takes away is not told of those that are counted."""
    first, second, off = plan.releases[:3]
    assert first.probability is not None
    assert second.probability is not None
    assert off.probability is not None
    assert off.probability < 0.05
    assert plan.joint_made is not None
    assert (plan.joint_of, plan.joint_made_of) == (3, 2)
    assert plan.joint is not None
    assert plan.joint < 0.05
    least = first.probability + second.probability - 1.0
    assert least - 0.02 <= plan.joint_made <= min(first.probability, second.probability) + 0.02
    assert f"both together {in_100(plan.joint_made)}." in plan.sentence
    assert plan.sentence.startswith("2 of 7 releases by 2027, each ")
    assert f"both together {in_100(plan.alone_joint_made or 0.0)}." in plan.beside_sentence
