"""Of plans as near their targets the surest: no release farther out, all together surer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.array_types import Floats
from analysis.stock_plan import HouseLimits, MustStay, PlanQuestion, plan_stock
from analysis.stock_plan.blocks import Problem, build_problem
from analysis.stock_plan.choose import choose
from analysis.stock_plan.own_best import own_best
from analysis.stock_plan.search import keeps
from analysis.stock_plan.starts import surest_of_starts
from analysis.stock_plan.surest import chance_that_chooses, surest
from analysis.vatting import Drawing, Limits, MixingRule, VattingPlan, plan_vatting

from .houses import day, question, release, stock

WHOLE = Limits(litres=600.0, abv_percent=46.0, excess_fraction=0.3)
PART = Limits(litres=600.0, drawing=Drawing.PART, smallest_draw_litres=20.0)


def unsure(seed: int, limits: Limits, house: HouseLimits = HouseLimits()) -> PlanQuestion:  # noqa: B008
    """Many casks near targets that are wide enough, none of them well known."""
    rng = np.random.default_rng(seed)
    scores, litres = rng.normal(35.0, 4.0, (60, 2)), rng.uniform(150.0, 220.0, 60)
    stocks = {day(2027 + year): stock(scores, year, litres, sd=2.0) for year in range(3)}
    releases = tuple(release(f"R{year}", year, (36.0, 35.0), limits) for year in range(3))
    rule = MixingRule(rule_sd=0.5)
    asked = replace(question(0), stocks=stocks, releases=releases, house=house, rule=rule)
    return replace(asked, kappa=0.0)


def outside(problem: Problem, given: list[Floats]) -> list[float]:
    pairs = zip(problem.blocks, given, strict=True)
    return [float(block.model.soft_weight @ block.model.outside(part)) for block, part in pairs]


@pytest.mark.parametrize("limits", [WHOLE, PART])
def test_exchanges_leave_no_release_farther_out_and_break_nothing(limits: Limits) -> None:
    held = float(unsure(1, limits).stocks[day(2029)].bulk_litres.sum())
    house = HouseLimits(most_litres_a_year=900.0, stay=(MustStay(held - 2500.0),))
    problem = build_problem(unsure(1, limits, house))
    found = choose(problem, 60.0).fractions
    after = surest(problem, found)
    assert keeps(problem, after)
    before = outside(problem, found)
    assert all(b <= a + 1e-6 for a, b in zip(before, outside(problem, after), strict=True))
    missing = [block.missing(part) for block, part in zip(problem.blocks, after, strict=True)]
    assert missing == [0.0, 0.0, 0.0]
    assert any(not np.array_equal(a, b) for a, b in zip(found, after, strict=True))


@pytest.mark.slow
def test_all_together_are_surer_in_futures_drawn_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Mixed by hand, arithmetically, from errors of each cask and of the rule."""
    from analysis.stock_plan import plan as planning

    asked = unsure(2, WHOLE)
    surer = plan_stock(asked)
    monkeypatch.setattr(planning, "surest_of_starts", lambda _problem, given, _only: given)
    first = plan_stock(asked)
    rng = np.random.default_rng(5)
    own = rng.normal(0.0, 2.0, (4000, 60, 2))
    rule = rng.normal(0.0, 0.5, (4000, 3, 2))
    chances = []
    for plan in (first, surer):
        right = np.ones(4000, dtype=bool)
        for at, each in enumerate(plan.releases):
            there = asked.stocks[each.on]
            assert each.mixture is not None
            lpa = np.array([part.lpa for part in each.mixture.parts])
            rows = [there.position[part.cask] for part in each.mixture.parts]
            mixed = np.einsum("skd,k->sd", there.estimate[rows] + own[:, rows], lpa / lpa.sum())
            right &= np.all(np.abs(mixed + rule[:, at] - (36.0, 35.0)) <= 2.0, axis=1)
        assert plan.joint is not None
        assert plan.joint == pytest.approx(float(right.mean()), abs=0.05)
        chances.append(float(right.mean()))
    assert chances[1] > chances[0] + 0.1
    assert surer.deviation <= first.deviation + 1e-6


def test_beside_a_plan_each_release_takes_the_surest_it_finds() -> None:
    """The first has the choice of all casks, the plan's for it among them: it is as sure at least.

    What lies nearest by the estimates alone is less sure.
    """
    problem = build_problem(unsure(3, WHOLE))
    chosen = choose(problem, 60.0)
    plan = surest(problem, chosen.fractions)
    beside = own_best(problem, chosen.alone, plan)
    assert keeps(problem, beside)
    missing = [block.missing(part) for block, part in zip(problem.blocks, beside, strict=True)]
    assert missing == [0.0, 0.0, 0.0]
    nearest, own, planned = (
        chance_that_chooses(problem, given[0], 0) for given in (chosen.alone, beside, plan)
    )
    assert own > nearest
    assert own >= planned


def test_the_plans_casks_for_a_release_are_taken_where_they_are_surer() -> None:
    """And the next, of whose casks they are some, then takes what is left."""
    problem = build_problem(unsure(4, WHOLE))
    plan = choose(problem, 60.0).fractions
    nothing = [np.zeros_like(part) for part in plan]
    taken = problem.blocks[1].casks
    same = np.isin(taken, problem.blocks[0].casks[plan[0] > 0.0]).astype(np.float64)
    beside = own_best(problem, [nothing[0], same, nothing[2]], plan)
    assert keeps(problem, beside)
    assert np.array_equal(beside[0], plan[0])
    assert np.any(beside[1] > 0.0)


@pytest.mark.parametrize("seed", [0, 2, 6])
def test_other_starts_find_what_a_vatting_of_the_release_alone_finds(seed: int) -> None:
    """More casks may be surer, and exchanging one for another never makes them more."""
    rng = np.random.default_rng(seed)
    scores, litres = rng.normal(35.0, 4.0, (60, 2)), rng.uniform(70.0, 220.0, 60)
    limits = replace(WHOLE, excess_fraction=0.1, casks_min=2, casks_max=6)
    asked = replace(
        question(0),
        stocks={day(2027): stock(scores, 0, litres, sd=2.0)},
        releases=(release("R", 0, (36.0, 35.0), limits),),
        rule=MixingRule(rule_sd=0.5),
        kappa=0.75,
    )
    problem, (only,) = build_problem(asked), asked.releases
    chosen = choose(problem, 60.0)
    found = surest_of_starts(problem, chosen.fractions)
    vatting = plan_vatting(asked.stocks[only.on], only.target, limits, asked.rule)
    assert isinstance(vatting, VattingPlan)
    exchanged_only = chance_that_chooses(problem, surest(problem, chosen.fractions)[0], 0)
    assert chance_that_chooses(problem, found[0], 0) > exchanged_only + 0.05
    assert chance_that_chooses(problem, found[0], 0) >= vatting.mixture.probability - 0.01
    assert keeps(problem, found)
    assert outside(problem, found)[0] <= outside(problem, chosen.fractions)[0] + 1e-6
