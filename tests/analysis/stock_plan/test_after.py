"""What is looked for once the casks are chosen has a limit of its own, and says where it cut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import count
from typing import Any

import numpy as np
import pytest

import analysis.stock_plan.after as after_module
from analysis.array_types import Floats
from analysis.stock_plan import Ended, PlanQuestion, StockPlan, plan_stock
from analysis.stock_plan.after import After, looked_after
from analysis.stock_plan.blocks import Problem, build_problem
from analysis.stock_plan.mends import mends_for
from analysis.stock_plan.own_best import own_best
from analysis.stock_plan.result import ReleasePlan
from analysis.stock_plan.until import TimeIsOver, Until, no_limit
from analysis.under_way import Stage, Step, watched
from analysis.vatting import Limits

from .houses import day, release, stock
from .test_fewer import given


def hard() -> PlanQuestion:
    """Three releases, none of which casks fill."""
    limits = Limits(bottles=4000, abv_percent=46.0, casks_max=3)
    means, litres = np.full((7, 2), 30.0), np.linspace(120.0, 220.0, 7)
    stocks = {day(2027 + year): stock(means, year, litres) for year in range(3)}
    wanted = tuple(release(f"R{year}", year, (30.0, 30.0), limits) for year in range(3))
    return PlanQuestion(day(2027).replace(month=1), stocks, wanted)


@pytest.fixture(scope="module")
def plan() -> StockPlan:
    return plan_stock(hard())


def bare(plan: StockPlan) -> tuple[Problem, list[Floats], tuple[ReleasePlan, ...]]:
    """A plan as it stands before anything is looked for."""
    problem = build_problem(hard())
    plain = tuple(replace(each, mends=(), in_the_way=None) for each in plan.releases)
    return problem, given(problem, plan), plain


def looked(plan: StockPlan, until: Until) -> After:
    return looked_after(*bare(plan), until, mends=True, conflicts=True)


def ticking(seconds: float) -> Until:
    ticks = count()
    return Until(seconds, lambda: float(next(ticks)))


def test_within_its_time_nothing_is_left_open(plan: StockPlan) -> None:
    found = looked(plan, no_limit())
    assert (found.mends_open, found.together_open, found.stopped) == ((), False, False)
    assert found.releases == plan.releases
    assert found.together_not == plan.together_not
    assert (plan.mends_open, plan.together_open) == ((), False)
    assert "Not looked for" not in plan.sentence
    assert all(each.mends or each.in_the_way for each in plan.releases)


@pytest.mark.parametrize("seconds", [0.0, 5.0, 20.0, 60.0, 150.0])
def test_what_was_found_by_then_is_told_and_the_rest_is_named(
    plan: StockPlan, seconds: float
) -> None:
    found = looked(plan, ticking(seconds))
    for each, whole in zip(found.releases, plan.releases, strict=True):
        assert each.mends == whole.mends[: len(each.mends)]
        is_open = each.name in found.mends_open
        assert is_open or (each.mends, each.in_the_way) == (whole.mends, whole.in_the_way)
        assert not (is_open and each.in_the_way)
    if found.together_not is not None and plan.together_not is not None:
        assert found.together_not.releases == plan.together_not.releases
        for name, amount in found.together_not.nearest.items():
            assert amount <= plan.together_not.nearest[name]
    assert found.together_open or found.together_not == plan.together_not
    if seconds == 0.0:
        assert (found.mends_open, found.together_open) == (("R0", "R1", "R2"), True)
        assert found.together_not is None


def test_a_release_that_takes_long_leaves_the_others_their_time(
    plan: StockPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(problem: Any, fractions: Any, at: int, vatting: Any, until: Until) -> Iterator[Any]:
        while at == 0:
            until.in_time()
        yield from mends_for(problem, fractions, at, vatting, until)

    monkeypatch.setattr(after_module, "mends_for", slow)
    found = looked(plan, ticking(60_000.0))
    assert found.mends_open == ("R0",)
    assert not found.together_open
    assert found.releases[1:] == plan.releases[1:]


def test_the_amounts_that_the_time_did_not_reach_to_are_not_said_to_be_none(
    plan: StockPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    def over(*_: Any) -> int | None:
        raise TimeIsOver

    monkeypatch.setattr("analysis.stock_plan.together._nearest", over)
    monkeypatch.setattr(after_module, "filled_by_own", lambda *_: None)
    found = looked_after(*bare(plan), no_limit(), mends=False, conflicts=True)
    assert found.together_open
    assert found.together_not is not None
    assert found.together_not.nearest == {}
    assert "R0 cannot be filled under its limits" in found.together_not.sentence
    assert "No smaller amount that was tried" not in found.together_not.sentence


def test_a_plan_says_what_was_not_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock stands while casks are chosen, and a minute goes with every look at it after."""
    ticks, runs = count(), []

    def chosen(*told: Any) -> list[Floats]:
        runs.append(True)
        return own_best(*told)

    monkeypatch.setattr("analysis.stock_plan.plan.own_best", chosen)
    cut = plan_stock(hard(), clock=lambda: 60.0 * next(ticks) if runs else 0.0)
    assert cut.ended in {Ended.PROVEN, Ended.DONE}
    assert cut.mends_open == ("R0", "R1", "R2")
    assert cut.together_open
    assert cut.sentence.endswith(
        "Not looked for to the end is what would mend R0, R1 and R2 and what cannot stand together "
        "and what can be had instead: the time was over."
    )
    told = cut.to_dict()
    assert (told["mends_open"], told["together_open"]) == (["R0", "R1", "R2"], True)


def test_each_release_is_a_step_that_is_told(plan: StockPlan) -> None:
    steps: list[Step] = []
    with watched(steps.append):
        looked(plan, no_limit())
    told = [(each.done, each.of) for each in steps if each.stage is Stage.MENDING]
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]


def test_what_was_found_before_it_was_stopped_is_kept(plan: StockPlan) -> None:
    reached: list[Step] = []
    with watched(reached.append, lambda: len(reached) == 2):
        found = looked(plan, no_limit())
    assert found.stopped
    assert found.releases[0] == plan.releases[0]
    assert not any(each.mends for each in found.releases[1:])
