"""Fewer bottles that can be had: how many, and why these are others than those of the table."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.array_types import Floats
from analysis.chance_words import in_100
from analysis.stock_plan import MendKind, PlanQuestion, StockPlan, plan_stock
from analysis.stock_plan.blocks import Problem, build_problem
from analysis.stock_plan.fewer import fewer_of, filled_by_own, is_made, with_amount
from analysis.stock_plan.result import SURE_ENOUGH, Mend, ReleasePlan, WhyFewer
from analysis.stock_plan.search import keeps
from analysis.stock_plan.until import no_limit
from analysis.vatting import Drawing, Limits
from tests.thinned import some

from .houses import day, stock
from .test_in_the_way import alike, sparse, sparse_question


def given(problem: Problem, plan: StockPlan) -> list[Floats]:
    """The fractions of a plan, by release and cask."""
    names = np.array(problem.question.casks)
    return [
        np.array(
            [plan.prices.given[block.release.name].get(cask, 0.0) for cask in names[block.casks]]
        )
        for block in problem.blocks
    ]


def fewer_mends(plan: StockPlan) -> list[tuple[ReleasePlan, Mend]]:
    return [
        (each, mend) for each in plan.releases for mend in each.mends if mend.kind is MendKind.FEWER
    ]


def own_fill(problem: Problem, fractions: list[Floats], at: int, amount: int) -> bool:
    there = with_amount(problem, at, amount)
    return is_made(there.blocks[at], fractions[at]) and keeps(there, fractions)


@pytest.mark.parametrize("seed", some([0, 8, 10, 14, 16], 5))
def test_bottles_that_can_be_had_are_those_of_the_table_or_both_are_told(seed: int) -> None:
    found = fewer_mends(sparse(seed))
    assert found
    for each, mend in found:
        assert mend.bottles is not None
        assert each.probability is not None
        both = f"the casks it has now fill {each.bottles_low:,} together"
        assert (both in mend.sentence) is (mend.bottles != each.bottles_low)
        assert (mend.why is None) is (mend.bottles == each.bottles_low)
        if mend.why is not None:
            told = f"their notes are within tolerance with chance {in_100(each.probability)}"
            assert told in mend.sentence


@pytest.mark.parametrize("seed", some([0, 4, 10, 13, 16], 5))
def test_no_more_of_its_own_casks_fill_and_are_sure(seed: int) -> None:
    asked = sparse_question(seed)
    plan, problem = sparse(seed), build_problem(asked)
    fractions = given(problem, plan)
    names = [block.release.name for block in problem.blocks]
    tried = 0
    for each, mend in fewer_mends(plan):
        assert each.probability is not None
        if each.probability < SURE_ENOUGH:
            continue
        at, bottles = names.index(each.name), mend.bottles or 0
        assert own_fill(problem, fractions, at, bottles)
        more = range(bottles + 1, each.bottles_high + 2)
        assert not any(own_fill(problem, fractions, at, amount) for amount in more)
        tried += 1
    assert tried


@pytest.mark.parametrize("seed", some([1, 6, 7, 8, 14], 5))
def test_where_its_casks_are_too_unsure_that_is_the_reason_told(seed: int) -> None:
    unsure = [
        (each, mend)
        for each, mend in fewer_mends(sparse(seed))
        if each.probability is not None and each.probability < SURE_ENOUGH
    ]
    assert unsure
    for each, mend in unsure:
        assert mend.why is WhyFewer.UNSURE
        assert (
            f"{mend.bottles:,} bottles (casks chosen anew, the most tried that is" in mend.sentence
        )
        assert "counted cask by cask" not in mend.sentence
        fill = f"fill {each.bottles_low:,} together, but their notes are within tolerance"
        assert fill in mend.sentence


def test_counting_cask_by_cask_is_the_reason_where_its_own_casks_are_meant() -> None:
    ((each, mend),) = (found for found in fewer_mends(sparse(4)) if found[0].name == "R0")
    assert (mend.bottles, each.bottles_low, mend.why) == (2856, 2857, WhyFewer.COUNTED)
    assert "2,856 bottles (asked for, so counted cask by cask; the casks it" in mend.sentence


def test_without_notes_no_less_is_told_than_its_casks_fill() -> None:
    """What is told beside it counts notes and is less."""
    plan = sparse(14)
    first = plan.releases[0]
    ((_, mend),) = fewer_mends(plan)
    assert plan.together_not is not None
    assert plan.together_not.nearest["R0"] == first.bottles_low > (mend.bottles or 0)
    assert "notes not counted: R0 with 1,962 bottles." in plan.together_not.sentence


def in_doubt() -> PlanQuestion:
    """Casks whose litres are known to a twentieth, and far more asked for than they hold."""
    asked = alike(Limits(bottles=9000, abv_percent=46.0, excess_fraction=0.12))
    there = stock(np.full((5, 2), 60.0), 0, np.full(5, 190.0), sd=1.0)
    doubtful = replace(there, casks=there.casks.assign(bulk_error=0.05))
    return replace(asked, stocks={day(2027): doubtful})


def test_the_less_is_asked_for_the_less_each_cask_counts_for() -> None:
    plan = plan_stock(in_doubt())
    problem = build_problem(in_doubt())
    fractions = given(problem, plan)
    (first,) = plan.releases
    assert plan.together_not is not None
    told = plan.together_not.nearest["R0"]
    by_share = int((1.0 - first.missing) * 9000)
    assert not own_fill(problem, fractions, 0, min(by_share, first.bottles_low))
    assert own_fill(problem, fractions, 0, told)
    assert not own_fill(problem, fractions, 0, told + 1)
    found = filled_by_own(problem, fractions, 0, first.bottles_low)
    assert found is not None
    assert found[1] == told
    said = (
        f"R0 with {told:,} bottles (asked for, so counted cask by cask; the casks it has now fill"
    )
    assert said in plan.together_not.sentence


@pytest.mark.parametrize("most", some([300, 777, 1000], 3))
def test_amounts_between_the_last_two_steps_are_tried_too(most: int) -> None:
    part = Limits(bottles=1300, abv_percent=46.0, excess_fraction=0.3, drawing=Drawing.PART)
    problem = build_problem(alike(part, 8))
    nothing = [np.zeros(block.model.n) for block in problem.blocks]
    found = fewer_of(
        *(problem, nothing, 0, 1300),
        lambda block, _: (block.release.limits.bottles or 0) <= most,
        no_limit(),
    )
    assert found is not None
    assert not found.own
    assert 0.99 * most - 1 <= found.amount <= most
