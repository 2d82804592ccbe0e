"""What keeps a release from being filled alone, and what only together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.stock_plan import HouseLimits, PlanQuestion, plan_stock
from analysis.stock_plan.blocks import build_problem
from analysis.stock_plan.fewer import made_as
from analysis.stock_plan.in_the_way import in_the_way, loosest
from analysis.stock_plan.loosened import ways
from analysis.stock_plan.until import no_limit
from analysis.vatting import Drawing, Limits, Share
from analysis.vatting.limits import LimitKey, LimitKind, limit_keys
from tests.thinned import some

from .houses import day, stock
from .test_in_the_way import FEW, alike, sparse_question

PURE = Limits(
    litres=480.0,
    abv_percent=46.0,
    excess_fraction=0.3,
    shares=(
        Share("wood", ("hogshead",), 0.0, 1.0),
        Share("make", ("Fen",), 0.9, 1.0),
        Share("wood", ("butt",), 0.9, 1.0),
    ),
)
"""Two shares that no casks can meet at once, and one that anything meets."""


def wooded(limits: Limits) -> PlanQuestion:
    """Eight casks: those of one make in hogsheads, those of the other in butts."""
    asked = alike(limits, 8)
    woods = {
        on: replace(
            there,
            casks=there.casks.assign(
                wood=there.casks["make"].map({"Fen": "hogshead", "Ember": "butt"})
            ),
        )
        for on, there in asked.stocks.items()
    }
    return replace(asked, stocks=woods)


def fills_alone(asked: PlanQuestion, house: HouseLimits | None = None) -> bool:
    """Whether the first release is filled with no other beside it."""
    problem = build_problem(asked if house is None else replace(asked, house=house))
    nothing = [np.zeros(block.model.n) for block in problem.blocks]
    return made_as(problem, nothing, 0, asked.releases[0], no_limit()) is not None


@pytest.mark.parametrize("seed", some([0, 1, 16], 3))
def test_what_suffices_by_itself_is_told_before_any_set(seed: int) -> None:
    asked = sparse_question(seed)
    found = plan_stock(asked).releases[0].in_the_way
    assert found is not None
    assert fills_alone(asked), "leaving out the other release alone does"
    assert (found.keys, found.others, found.house, found.each_alone) == ((), True, False, True)
    assert found.sentence == "In the way of R0 stands what the other releases take."


def test_of_a_set_no_more_is_said_than_was_proven_of_parts_of_casks() -> None:
    """With whole casks the second release is not filled without the first either."""
    asked = sparse_question(16)
    plan = plan_stock(asked)
    way = plan.releases[1].in_the_way
    assert way is not None
    assert (way.others, way.each_alone) == (True, False)
    assert LimitKind.WHOLE in way.limits
    assert plan.together_not is not None
    assert plan.together_not.proven
    said = "without any one of them the others can, were their casks drawn in parts. Tried"
    assert said in plan.together_not.sentence
    parts = [
        replace(each, limits=replace(each.limits, drawing=Drawing.PART)) for each in asked.releases
    ]
    poured = plan_stock(replace(asked, releases=tuple(parts))).together_not
    assert poured is not None
    assert "without any one of them the others can. Tried" in poured.sentence


def test_every_one_that_suffices_by_itself_is_told_and_which_of_several_it_is() -> None:
    (found,) = plan_stock(wooded(PURE)).releases
    way = found.in_the_way
    assert way is not None
    _, fen, butt = PURE.shares
    assert not fills_alone(wooded(PURE))
    for share in (fen, butt):
        rest = tuple(other for other in PURE.shares if other is not share)
        assert fills_alone(wooded(replace(PURE, shares=rest)))
    shares = tuple(LimitKey(LimitKind.SHARE, which) for which in (1, 2))
    assert (way.keys, way.each_alone, way.others, way.house) == (shares, True, False, False)
    assert way.sentence == (
        "In the way of R0 stand the share make Fen 90 to 100 % by bulk litres and the share wood "
        "butt 90 to 100 % by bulk litres: to let go of any one of them alone fills it."
    )
    told = found.to_dict()["in_the_way"]
    assert told["limits"] == ["share", "share"]
    assert told["words"] == [f"the share {share.words}" for share in (fen, butt)]
    assert told["each_alone"] is True


def test_what_is_loosened_goes_as_far_as_a_mend_does_and_no_farther() -> None:
    limits = replace(FEW, age_statement_years=12)
    loose = loosest(limits, limit_keys(limits))
    last = {way[-1].kind: way[-1].limits for way in ways(limits) if way}
    assert loose.age_statement_years == last[LimitKind.AGE].age_statement_years == 3
    assert loose.excess_fraction == last[LimitKind.EXCESS].excess_fraction
    assert loose.abv_percent == last[LimitKind.STRENGTH].abv_percent
    lawful = replace(limits, minimum_age_years=5.0)
    assert loosest(lawful, limit_keys(lawful)).age_statement_years == 5
    young = replace(limits, age_statement_years=2)
    assert loosest(young, limit_keys(young)).age_statement_years == 2


def test_what_holds_for_the_plan_as_a_whole_is_named_as_that() -> None:
    """Far from its target on every note, so that no other limit of the year mends it."""
    limits = Limits(litres=700.0, abv_percent=46.0, excess_fraction=0.4)
    asked = alike(limits, 5)
    far = {day(2027): stock(np.full((5, 2), 60.0), 0, np.full(5, 190.0), sd=1.0)}
    asked = replace(asked, stocks=far, house=HouseLimits(most_litres_a_year=300.0))
    (found,) = plan_stock(asked).releases
    assert found.missing > 0.0
    way = found.in_the_way
    assert way is not None
    assert (way.keys, way.others, way.house, way.each_alone) == ((), False, True, True)
    assert way.sentence == "In the way of R0 stands what holds for the plan as a whole."
    assert fills_alone(asked, HouseLimits())
    assert not fills_alone(asked)


def test_the_plan_as_a_whole_is_named_in_a_set_too() -> None:
    asked = replace(alike(FEW), house=HouseLimits(most_litres_a_year=300.0))
    (found,) = plan_stock(asked).releases
    way = found.in_the_way
    assert way is not None
    assert way.house
    assert not way.each_alone
    assert "what holds for the plan as a whole" in way.sentence
    loose = replace(asked.releases[0], limits=loosest(FEW, way.keys))
    freed = replace(asked, releases=(loose,))
    assert fills_alone(freed, HouseLimits())
    assert not fills_alone(freed), "the house is needed"
    assert not fills_alone(asked, HouseLimits()), "and so are the limits"


def test_what_lacks_nothing_has_nothing_in_the_way() -> None:
    asked = alike(Limits(litres=400.0, abv_percent=46.0, excess_fraction=0.4))
    problem = build_problem(asked)
    nothing = [np.zeros(block.model.n) for block in problem.blocks]
    found = made_as(problem, nothing, 0, asked.releases[0], no_limit())
    assert found is not None
    assert in_the_way(problem, [found[1]], 0, no_limit()) is None
