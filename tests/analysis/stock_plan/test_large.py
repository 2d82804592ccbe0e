"""Plans by prices: bound, changes from an earlier plan, stops, conflicts and mends."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import Any

import numpy as np
import pytest

from analysis.stock_plan import (
    Ended,
    HouseLimits,
    MendKind,
    PlanQuestion,
    StockPlan,
    plan_stock,
)
from analysis.stock_plan import choose as choosing
from analysis.stock_plan.blocks import build_problem
from analysis.stock_plan.together import find_conflicts
from analysis.stock_plan.until import no_limit
from analysis.under_way import watched
from analysis.vatting import Drawing, Limits

from .houses import day, question, release, stock

LIMITS = Limits(litres=900.0, drawing=Drawing.PART, smallest_draw_litres=30.0)


@pytest.fixture(scope="module")
def asked() -> PlanQuestion:
    return question(11, casks=230, releases=4, limits=LIMITS, sd=1.0)


@pytest.fixture(scope="module")
def plan(asked: PlanQuestion) -> StockPlan:
    return plan_stock(asked, seconds=60.0)


def test_a_plan_by_prices_is_never_worse_than_release_after_release(plan: StockPlan) -> None:
    assert plan.bound - 1e-6 <= plan.objective <= plan.alone_objective + 1e-9
    assert plan.gap <= 1.0
    spent = [cask for each in plan.releases for cask in each.casks]
    assert len(plan.releases) == 4
    assert spent


def test_the_joint_chance_hangs_together_by_what_is_shared(asked: PlanQuestion) -> None:
    """Of an error of the panel alone all releases are right or wrong together."""
    panel = {
        on: replace(
            there, sd=np.zeros_like(there.sd), panel_sd=dict.fromkeys(there.descriptors, 3.0)
        )
        for on, there in asked.stocks.items()
    }
    first = asked.releases[0]
    alike = tuple(
        replace(each, name=f"R{at}", target=first.target, on=each.on)
        for at, each in enumerate(asked.releases[:2])
    )
    plan = plan_stock(replace(asked, stocks=panel, releases=alike), seconds=60.0)
    single = [each.probability or 0.0 for each in plan.releases]
    assert plan.joint is not None
    assert plan.joint > np.prod(single) + 0.05
    assert plan.joint <= min(single) + 0.02


def test_a_plan_hangs_on_no_clock(asked: PlanQuestion, plan: StockPlan) -> None:
    """On a clock that leaps by half a second whenever it is read it is the same, cask by cask."""
    ticks = count()
    slow = plan_stock(asked, seconds=1e6, clock=lambda: 0.5 * next(ticks))
    assert next(ticks) > 10  # it was asked
    assert [each.casks for each in slow.releases] == [each.casks for each in plan.releases]
    assert slow.joint == plan.joint
    assert slow.objective == plan.objective
    assert slow.ended is plan.ended


def test_a_plan_that_the_clock_ended_says_so(asked: PlanQuestion) -> None:
    ticks = count()
    cut = plan_stock(asked, seconds=8.0, clock=lambda: 0.5 * next(ticks))
    assert cut.ended is Ended.TIME
    assert Ended.TIME.value in cut.quality_sentence
    assert cut.bound - 1e-6 <= cut.objective


def test_a_change_is_answered_from_the_last_plan(asked: PlanQuestion, plan: StockPlan) -> None:
    held = plan.releases[0].casks[0]
    without = tuple(
        replace(each, limits=replace(each.limits, must_exclude=(held,))) for each in asked.releases
    )
    changed = replace(asked, releases=without)
    again = plan_stock(changed, seconds=60.0, begin=plan)
    assert held not in {cask for each in again.releases for cask in each.casks}
    assert again.bound <= again.objective + 1e-6
    assert again.objective <= plan_stock(changed, seconds=60.0).objective + 1.0


def test_a_plan_that_is_stopped_gives_its_best_with_its_bound(asked: PlanQuestion) -> None:
    asked_for = iter([False] * 6)
    with watched(lambda _: None, lambda: next(asked_for, True)):
        stopped = plan_stock(asked, seconds=60.0)
    assert stopped.ended is Ended.STOPPED
    assert stopped.bound <= stopped.objective
    assert len(stopped.releases) == 4


def test_the_full_program_agrees_where_prices_are_asked_instead(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    few = question(6, casks=40, releases=3, limits=replace(LIMITS, litres=500.0))
    full = choosing.choose(build_problem(few), 30.0)
    monkeypatch.setattr(choosing, "is_small", lambda _: False)
    priced = choosing.choose(build_problem(few), 30.0)
    assert priced.bound <= full.objective + 1e-6
    assert priced.objective <= full.objective + 1.0


def test_releases_that_cannot_stand_together_are_named_with_the_nearest_that_can() -> None:
    limits = Limits(litres=700.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    asked = question(8, casks=6, releases=2, limits=limits)
    (conflict,) = find_conflicts(build_problem(asked), no_limit())
    assert conflict.releases == (0, 1)
    assert conflict.proven
    held = asked.stocks[day(2028)].bulk_litres.sum() * 0.6
    needed = 700.0 * 0.46
    most = held / needed - 0.98  # a year's loss later the first would have taken so much less
    assert 0.9 * most * 700.0 < conflict.nearest[1] <= most * 700.0
    for at, amount in conflict.nearest.items():
        each = asked.by_date[at]
        mended = replace(each, limits=replace(each.limits, litres=float(amount)))
        others = tuple(one for one in asked.releases if one is not each)
        had = plan_stock(replace(asked, releases=(mended, *others)))
        assert not any(one.missing for one in had.releases)
    plan = plan_stock(asked)
    assert plan.together_not is not None
    assert "cannot stand together" in plan.together_not.sentence
    few = replace(asked, releases=asked.releases[:1])
    assert find_conflicts(build_problem(few), no_limit()) == ()


def test_a_release_that_fails_is_told_what_would_mend_it() -> None:
    """Nothing on the day smells as it should but what is filled now: Ember casks, two years old."""
    scores = np.array([[10.0, 30.0]] * 4 + [[40.0, 30.0]] * 3)
    litres = np.array([200.0] * 4 + [60.0] * 3)
    asked = question(0, casks=7)
    limits = Limits(litres=450.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    days = {day(2027 + year): stock(scores, year, litres, sd=0.5, age=0.3) for year in (0, 2)}
    for there in days.values():
        there.casks["make"] = ["Fen"] * 4 + ["Ember"] * 3
    late = release("Late", 2, (42.0, 30.0), limits)
    plan = plan_stock(replace(asked, stocks=days, releases=(late,)))
    (told,) = plan.releases
    assert told.fails
    kinds = {mend.kind: mend for mend in told.mends}
    assert kinds[MendKind.FILL].like == {"make": "Ember"}
    assert kinds[MendKind.FILL].casks == 3
    assert "Ember" in plan.next_action


@pytest.mark.parametrize(("most", "moves"), [(None, True), (200.0, False)])
def test_another_day_is_told_only_where_the_house_may_draw_on_it(
    most: float | None, moves: bool
) -> None:
    """The first note grows by a point a year: two years on it would do."""
    scores, litres = np.full((8, 2), 30.0), np.full(8, 200.0)
    limits = Limits(litres=200.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    days = {day(2027 + year): stock(scores, year, litres, sd=0.1) for year in (0, 2)}
    releases = (
        release("Early", 0, (33.5, 30.0), limits),
        release("Other", 2, (32.0, 30.0), limits),
    )
    house = HouseLimits(most_litres_a_year=most)
    plan = plan_stock(replace(question(0), stocks=days, releases=releases, house=house))
    early = plan.release("Early")
    assert early.fails
    assert (MendKind.MOVE in {mend.kind for mend in early.mends}) is moves


def test_a_hold_of_a_cask_that_nobody_takes_moves_nothing(
    asked: PlanQuestion, plan: StockPlan
) -> None:
    """The plan goes on from the last one and keeps its casks wherever they are as good."""
    taken = {cask for each in plan.releases for cask in each.casks}
    idle = next(str(name) for name in asked.casks if str(name) not in taken)
    held = tuple(
        replace(each, limits=replace(each.limits, must_exclude=(idle,))) for each in asked.releases
    )
    after = plan_stock(replace(asked, releases=held), seconds=60.0, begin=plan)
    before = {each.name: each.casks for each in plan.releases}
    assert {each.name: each.casks for each in after.releases} == before
    assert after.joint == plan.joint


def test_what_lacks_quantity_is_not_mended_by_a_wider_note() -> None:
    limits = Limits(litres=9000.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    asked = question(8, casks=6, releases=1, limits=limits, sd=3.0)
    (told,) = plan_stock(asked).releases
    assert told.missing > 0.5
    assert MendKind.WIDEN not in {mend.kind for mend in told.mends}


def test_a_moved_release_comes_near_to_what_planning_anew_does(
    asked: PlanQuestion, plan: StockPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where few casks may go elsewhere at first, more do in waves once the gap is seen."""
    from analysis.stock_plan import changed as changing

    monkeypatch.setattr(changing, "_MOVED", 20)
    waves: list[object] = []
    farther = changing._farther

    def counted(*given: Any) -> None:
        waves.append(given)
        farther(*given)

    monkeypatch.setattr(changing, "is_wide", lambda *_: True)
    monkeypatch.setattr(changing, "_farther", counted)
    first = asked.releases[0]
    moved = replace(asked, releases=(replace(first, on=asked.releases[2].on), *asked.releases[1:]))
    again = plan_stock(moved, seconds=60.0, begin=plan)
    assert len(waves) == 1
    monkeypatch.setattr(changing, "_farther", lambda *_: None)
    near = plan_stock(moved, seconds=60.0, begin=plan)
    anew = plan_stock(moved, seconds=60.0)
    assert again.bound <= again.objective + 1e-6
    assert again.objective <= near.objective
    assert again.objective <= anew.objective + 0.25


def test_a_search_that_was_cut_short_says_so_and_takes_nothing_for_proven(
    asked: PlanQuestion,
) -> None:
    """What was not looked at gets no cask, and is no reason to move a release."""
    ticks = count()
    cut = plan_stock(asked, seconds=1.0, clock=lambda: 0.5 * next(ticks))
    failing = [each for each in cut.releases if each.fails]
    assert failing
    assert cut.sentence.startswith("The search was cut short: the time was over. So far: ")
    assert cut.next_action.startswith("let it look to its end before")
    assert not any(each.mends for each in failing)
    assert cut.together_not is None
