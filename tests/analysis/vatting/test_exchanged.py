"""What a search without a limit finds counts, and casks are exchanged while the chance rises."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.vatting import Limits, MixingRule, VattingPlan, plan_vatting
from analysis.vatting.chance import Stream
from analysis.vatting.exchanged import exchanged
from analysis.vatting.limits import Drawing, LimitKey, LimitKind
from analysis.vatting.prices import Price, price_limits, search_without, surer_within
from analysis.vatting.task import make_task
from analysis.vatting.tighten import chance_of, tighten
from analysis.vatting.verdict import next_action
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 36.0, "plum": 34.0}, 6.0)
LIMITS = Limits(litres=900, excess_fraction=0.1, casks_min=2, casks_max=12)


@pytest.mark.parametrize("seed", [3, 5, 8])
def test_an_exchange_makes_it_surer_and_keeps_limits_and_points(seed: int) -> None:
    task = make_task(stock_of(40, seed=seed, sd=4.0), TARGET, LIMITS, MixingRule())
    before = tighten(task, kappas=(0.0,))
    after = exchanged(task, before)
    chances = [chance_of(task, each.found, Stream.CHOOSING) or 0.0 for each in (before, after)]
    assert chances[1] >= chances[0]
    assert after.found.proven == before.found.proven
    model, fractions = after.found.model, after.found.fractions
    assert fractions is not None
    assert np.all(model.hard @ fractions <= model.hard_limit + 1e-6)
    assert np.all(model.count @ (fractions > 0) <= model.count_limit + 1e-6)
    assert exchanged(task, after).found is after.found, "nothing more to gain"


def test_some_exchange_is_worth_it() -> None:
    task = make_task(stock_of(40, seed=5, sd=4.0), TARGET, LIMITS, MixingRule())
    before = tighten(task, kappas=(0.0,))
    after = exchanged(task, before)
    told = [chance_of(task, each.found, Stream.TOLD) or 0.0 for each in (before, after)]
    assert told[1] > told[0] + 0.01


def test_what_keeps_a_limit_anyway_is_taken_and_costs_nothing() -> None:
    task = make_task(stock_of(40, seed=5, sd=4.0), TARGET, LIMITS, MixingRule())
    poor = tighten(task, kappas=(0.0,))
    searched = search_without(task)
    surer = surer_within(task, poor, searched)
    assert surer.found is not poor.found
    assert surer.mixture is not None
    assert surer.mixture.probability > (poor.mixture.probability if poor.mixture else 0.0)
    costs = {each.key.kind: each.probability_cost for each in price_limits(task, surer, searched)}
    assert min(costs.values()) >= 0.0
    assert costs[LimitKind.CASKS_MIN] < 0.015


@pytest.mark.slow
def test_what_breaks_a_limit_is_not_taken() -> None:
    few = replace(LIMITS, litres=1500, casks_min=None, casks_max=5, excess_fraction=0.4)
    task = make_task(stock_of(40, seed=5, sd=4.0), TARGET, few, MixingRule())
    surer = surer_within(task, tighten(task, kappas=(0.0,)), search_without(task))
    assert surer.mixture is not None
    assert len(surer.mixture.parts) <= 5


def test_a_limit_that_keeps_the_chance_low_is_named_as_what_to_do() -> None:
    hard = target_of({"smoke": 36.0, "plum": 34.0}, 1.5)
    plan = plan_vatting(stock_of(20, seed=3, sd=4.0), hard, Limits(litres=600))
    assert isinstance(plan, VattingPlan)
    chance = plan.probability
    assert chance < 0.5
    dear = Price(LimitKey(LimitKind.EXCESS), 0, 0.51 - chance, 1)
    said = next_action(plan.mixture, plan.reach, Limits(litres=600), (dear,))
    assert said.startswith("loosen at most ")
    cheap = replace(dear, probability_cost=0.49 - chance)
    said = next_action(plan.mixture, plan.reach, Limits(litres=600), (cheap,))
    assert said == plan.next_action
    assert said.startswith("nose the casks again")


def test_a_cask_of_which_nothing_is_left_divides_by_nothing() -> None:
    stock = stock_of(20, seed=3, sd=4.0)
    reserved = stock.bulk_litres.copy()
    reserved[1:] = 0.0
    stock = stock_of(20, seed=3, sd=4.0, reserved_l=reserved)
    limits = replace(LIMITS, drawing=Drawing.PART, leave_litres=0.0)
    plan = plan_vatting(stock, TARGET, limits, in_full=False)
    assert isinstance(plan, VattingPlan)
    assert "C000" not in plan.mixture.casks
