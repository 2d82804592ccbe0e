"""What together keeps a release from being filled, a cask that two must have, fewer bottles."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.chance_words import in_100
from analysis.stock_plan import MendKind, PlanQuestion, StockPlan, plan_stock
from analysis.stock_plan.blocks import build_problem
from analysis.stock_plan.fewer import made_as
from analysis.stock_plan.in_the_way import loosest
from analysis.stock_plan.until import no_limit
from analysis.vatting import Limits
from analysis.vatting.limits import LimitKind, limit_keys
from tests.thinned import some

from .houses import day, question, release, stock
from .test_must_have import both_ask_for_one


def alike(limits: Limits, n: int = 5, releases: int = 1) -> PlanQuestion:
    """Casks of 190 L, all like the target, for releases of one year after another."""
    stocks = {
        day(2027 + year): stock(np.full((n, 2), 30.0), year, np.full(n, 190.0))
        for year in range(releases)
    }
    wanted = tuple(release(f"R{year}", year, (30.0, 30.0), limits) for year in range(releases))
    return replace(question(0), stocks=stocks, releases=wanted)


LITRES = np.array([190.0, 40.0, 40.0, 190.0])
"""Of the cask that both must have and one more a release is made, and of the rest none."""
FEW = Limits(litres=640.0, abv_percent=46.0, excess_fraction=0.01, casks_max=2)
"""Two casks are too little and three too much: parts of three are wanted, or two that overflow."""
OLD = Limits(litres=600.0, abv_percent=46.0, excess_fraction=0.01, age_statement_years=15)


@pytest.mark.parametrize(
    ("limits", "kinds", "words"),
    [
        (
            FEW,
            {LimitKind.CASKS_MAX, LimitKind.WHOLE},
            "In the way of R0 stand together at most 2 casks and taking casks whole: to let go of "
            "one alone does not fill it.",
        ),
        (
            OLD,
            {LimitKind.AGE, LimitKind.WHOLE},
            "the age statement of 15 years and taking casks whole",
        ),
    ],
)
def test_limits_that_no_one_of_them_alone_frees_are_told_together(
    limits: Limits, kinds: set[LimitKind], words: str
) -> None:
    asked = alike(limits)
    (found,) = plan_stock(asked).releases
    assert not [mend for mend in found.mends if mend.kind is MendKind.LOOSEN]
    assert found.in_the_way is not None
    assert set(found.in_the_way.limits) == kinds
    assert words in found.in_the_way.sentence
    problem = build_problem(asked)
    keys = [key for key in limit_keys(limits) if key.kind in kinds]
    nothing = [np.zeros(block.model.n) for block in problem.blocks]

    def filled(*loose: LimitKind) -> bool:
        some = loosest(limits, [key for key in keys if key.kind in loose])
        asked_so = replace(asked.releases[0], limits=some)
        return made_as(problem, nothing, 0, asked_so, no_limit()) is not None

    assert filled(*kinds)
    assert not any(filled(kind) for kind in kinds), "each of them is needed"


def test_what_the_others_take_is_named_as_that() -> None:
    limits = Limits(litres=700.0, abv_percent=46.0, excess_fraction=0.4)
    found = next(each for each in plan_stock(alike(limits, 3, 2)).releases if each.fails)
    assert found.in_the_way is not None
    assert (found.in_the_way.limits, found.in_the_way.others) == ((), True)
    said = f"In the way of {found.name} stands what the other releases take."
    assert found.in_the_way.sentence == said


def test_where_nothing_that_is_loosened_helps_that_is_said() -> None:
    (found,) = plan_stock(alike(Limits(litres=9000.0, abv_percent=46.0))).releases
    assert found.in_the_way is not None
    assert found.in_the_way.limits == ()
    assert found.in_the_way.sentence.startswith("Nothing that was loosened fills R0")
    assert "not found to give 9,000 litres" in found.in_the_way.sentence


def test_nothing_is_in_the_way_of_what_one_change_fills() -> None:
    plan = plan_stock(alike(replace(FEW, casks_max=None)))
    (found,) = plan.releases
    assert found.mends
    assert found.in_the_way is None


def test_a_cask_that_two_must_have_can_be_let_go_by_one() -> None:
    limits = Limits(litres=400.0, abv_percent=46.0, excess_fraction=0.3)
    plan = plan_stock(both_ask_for_one(limits))
    (other,) = (each for each in plan.releases if each.mixture is None)
    (mend,) = other.mends
    assert (mend.kind, mend.limit) == (MendKind.LOOSEN, LimitKind.MUST_INCLUDE)
    assert mend.probability is not None
    said = f"{other.name} can be filled without cask C03 ({in_100(mend.probability)})"
    assert mend.sentence == plan.next_action == said


def test_where_it_cannot_be_filled_without_it_either_both_ways_out_are_told() -> None:
    limits = Limits(litres=400.0, abv_percent=46.0, excess_fraction=0.3)
    asked = both_ask_for_one(limits)
    few = {day(2027 + year): stock(np.full((4, 2), 30.0), year, LITRES) for year in range(2)}
    plan = plan_stock(replace(asked, stocks=few))
    (made,) = (each for each in plan.releases if each.mixture is not None)
    (other,) = (each for each in plan.releases if each.mixture is None)
    assert other.mends == ()
    assert plan.next_action == f"plan {other.name} without cask C03, or {made.name} without it"


def sparse_question(seed: int) -> PlanQuestion:
    rng = np.random.default_rng(seed)
    n = rng.integers(5, 14)
    means, litres = rng.normal(30.0, 3.0, (n, 2)), rng.uniform(120.0, 220.0, n)
    stocks = {day(2027 + year): stock(means, year, litres) for year in range(2)}
    limits = Limits(bottles=int(rng.integers(500, 3000)), abv_percent=46.0)
    wanted = tuple(release(f"R{year}", year, (30.0, 30.0), limits) for year in range(2))
    return replace(question(0), stocks=stocks, releases=wanted)


def sparse(seed: int) -> StockPlan:
    return plan_stock(sparse_question(seed))


def short(seed: int) -> StockPlan:
    """Two releases that six casks of unlike size hardly fill, whatever they smell of."""
    limits = Limits(bottles=900, abv_percent=46.0, casks_max=3, excess_fraction=0.02)
    rng = np.random.default_rng(seed)
    litres = rng.uniform(120.0, 200.0, 6)
    far = np.full((6, 2), 60.0)
    stocks = {day(2027 + year): stock(far, year, litres, sd=1.0) for year in range(2)}
    wanted = tuple(release(f"R{year}", year, (30.0, 30.0), limits) for year in range(2))
    return plan_stock(replace(question(0), stocks=stocks, releases=wanted))


@pytest.mark.parametrize("seed", some([12, 16], 2))
def test_of_what_cannot_be_filled_no_less_is_told_than_its_casks_fill(seed: int) -> None:
    plan = short(seed)
    assert plan.together_not is not None
    assert plan.together_not.each_alone
    for each in plan.releases:
        told = plan.together_not.nearest[each.name]
        assert told >= min(int((1.0 - each.missing) * 900), each.bottles_low) > 0
        said = f"no other release beside it, notes not counted: {each.name} with {told} bottles"
        assert said in plan.together_not.sentence
        both = f"{told} bottles (asked for, so counted cask by cask; the casks it has now fill"
        assert (both in plan.together_not.sentence) is (told < each.bottles_low)


def test_of_a_set_it_is_said_that_the_others_get_theirs() -> None:
    plan = short(0)
    assert plan.together_not is not None
    assert not plan.together_not.each_alone
    few = ", ".join(f"{name} with {n} bottles" for name, n in plan.together_not.nearest.items())
    said = f"one of these once the others get all of theirs: {few}."
    assert plan.together_not.sentence.endswith(said)
