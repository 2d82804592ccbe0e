"""Small plans: equal to the best of all ways, whatever the limits of the house."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import count
from typing import Any

import numpy as np
import pytest

from analysis.stock_plan import (
    Ended,
    HouseLimits,
    MustStay,
    plan_stock,
)
from analysis.stock_plan import choose as choosing
from analysis.stock_plan.blocks import build_problem
from analysis.stock_plan.dual import Dual
from analysis.stock_plan.interior import solve_inside
from analysis.stock_plan.program import solve_program
from analysis.stock_plan.result import PROVEN_GAP
from analysis.stock_plan.until import Until, no_limit
from analysis.stock_plan.verdict import plan_sentence
from analysis.under_way import watched
from analysis.vatting import Drawing, Limits, LimitsError, Share

from .houses import TODAY, best_of_all, day, question


@pytest.mark.parametrize("seed", range(4))
def test_a_small_plan_is_the_best_of_all_ways_to_deal_the_casks_out(seed: int) -> None:
    asked = question(seed)
    best = best_of_all(asked)
    plan = plan_stock(asked)
    assert np.isfinite(best)
    assert plan.deviation == pytest.approx(best, abs=2e-3)
    assert plan.ended is Ended.PROVEN
    assert plan.objective <= plan.alone_objective + 1e-9


def time_is_over(until: Until) -> None:
    until.met = True


def test_a_search_that_the_clock_cut_says_so_first_and_mends_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What no search has looked for to its end is open: it is not said that it cannot be had."""
    asked = question(0, releases=3)
    with monkeypatch.context() as patched:
        # How far a solver comes in a given time hangs on the machine: here it comes nowhere.
        patched.setattr(choosing, "_in_full", lambda _chosen, _dual, until: time_is_over(until))
        cut = plan_stock(asked)
    assert cut.ended is Ended.TIME
    assert cut.sentence.startswith("The search was cut short: the time was over. So far:")
    assert cut.still_open
    assert f"{cut.still_open[-1]} is still open" in cut.sentence
    assert "gets no cask" not in cut.sentence
    assert not any(each.mends for each in cut.releases)
    assert f"let it look to its end before {cut.still_open[0]}" in cut.next_action
    assert "points" not in cut.quality_sentence
    assert cut.unfinished
    whole = plan_stock(asked)
    assert (whole.still_open, whole.unfinished) == ((), False)


def test_a_plan_that_was_proven_before_the_time_was_over_is_not_called_cut(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """That it was not made as sure as it could be is said where its quality is."""
    search = choosing._in_full

    def late(chosen: Any, dual: Dual, until: Until) -> None:
        search(chosen, dual, until)
        time_is_over(until)

    monkeypatch.setattr(choosing, "_in_full", late)
    plan = plan_stock(question(0, releases=3))
    assert (plan.ended, plan.proven, plan.still_open) == (Ended.TIME, True, ())
    assert "cut short" not in plan.sentence
    assert "It was not made as sure as it could be" in plan.quality_sentence


def test_a_release_by_litres_only_is_no_surer_than_others() -> None:
    found = plan_stock(question(0, sd=3.0)).releases
    first, last = (replace(each, fails=False) for each in found)
    both = plan_sentence((first, last), 0.4, 2, 2028)
    assert both == "Both releases by 2028, each 2 in 100 or better, both together 40 in 100."
    far = replace(last, litres_only="too far")
    told = plan_sentence((first, far), None, 1, 2028)
    assert "1 of them by its notes, with chance" in told
    assert "or better" not in told
    alone = plan_sentence((far,), None, 0, 2028)
    assert alone == "The one release by 2028 can be made, by litres, age and wood only."


def test_a_search_that_is_stopped_gives_the_best_so_far_wherever_it_stood() -> None:
    """Also while it looks for what would mend a release: the last of its steps."""
    asked = question(0, casks=5, releases=3)
    steps = count()
    with watched(lambda _step: None, lambda: next(steps) < 0):
        whole = plan_stock(asked)
    assert any(each.fails for each in whole.releases)
    most = next(steps)
    for stop_at in {0, most // 3, 2 * most // 3, most - 1}:
        steps = count()
        with watched(lambda _step: None, lambda at=stop_at, of=steps: next(of) >= at):  # type: ignore[misc]
            cut = plan_stock(asked)
        assert cut.ended is Ended.STOPPED
        assert cut.cut_short
        assert cut.sentence.startswith("The search was cut short: it was stopped. So far:")
        assert cut.still_open or cut.proven


@pytest.mark.parametrize("drawing", [Drawing.PART, Drawing.WHOLE])
def test_the_linear_bound_is_below_the_full_integer_program(drawing: Drawing) -> None:
    limits = Limits(
        litres=420.0, drawing=drawing, smallest_draw_litres=40.0, excess_fraction=0.1, casks_max=4
    )
    for seed in range(3):
        problem = build_problem(question(seed, casks=12, releases=3, limits=limits))
        inside = solve_inside(Dual(problem), no_limit(), close=1e-4)
        full = solve_program(problem, 20.0, 2000)
        assert full is not None
        assert inside.bound <= full.objective + 1e-6
        assert full.bound <= full.objective + 1e-6


def test_the_interior_answer_is_that_of_a_linear_solver() -> None:
    """scipy.optimize.linprog (HiGHS) on the same rows, written out whole."""
    from scipy.optimize import linprog

    house = HouseLimits(most_litres_a_year=330.0)
    limits = Limits(litres=400.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    problem = build_problem(question(3, casks=15, releases=3, limits=limits, house=house))
    dual = Dual(problem)
    inside = solve_inside(dual, no_limit(), close=1e-5)
    widths = [block.model.n for block in problem.blocks]
    n, starts = sum(widths), np.cumsum([0, *widths])
    softs = [len(block.model.soft) for block in problem.blocks]
    width = n + sum(softs) + len(widths)
    matrix = np.zeros((dual.width + problem.n_casks, width))
    over = n
    for at, (block, rows, part) in enumerate(
        zip(problem.blocks, dual.rows, dual.parts, strict=True)
    ):
        here = np.arange(starts[at], starts[at + 1])
        matrix[part, starts[at] : starts[at + 1]] = rows.matrix
        matrix[np.arange(part.start, part.start + softs[at]), over + np.arange(softs[at])] = -1.0
        matrix[part, width - len(widths) + at] = -rows.short
        matrix[dual.width + block.casks, here] = 1.0
        over += softs[at]
        for which, row in enumerate(dual.house):
            litres = row.litres[at]
            if litres is not None:
                matrix[dual.n_rows + which, starts[at] : starts[at + 1]] = litres
    cost = np.concatenate(
        [
            *(block.model.cost + block.model.cask_cost for block in problem.blocks),
            *(block.model.soft_weight for block in problem.blocks),
            np.array([block.short_cost for block in problem.blocks]),
        ]
    )
    limit = np.concatenate([dual.limit, np.ones(problem.n_casks)])
    found = linprog(cost, A_ub=matrix, b_ub=limit, bounds=(0, None), method="highs")
    assert found.status == 0
    assert inside.bound == pytest.approx(found.fun, abs=2e-3)


def test_each_cask_is_spent_once_and_parts_hold_their_limits() -> None:
    limits = Limits(litres=430.0, drawing=Drawing.PART, smallest_draw_litres=40.0)
    asked = question(5, casks=9, releases=3, limits=limits)
    plan = plan_stock(asked)
    spent: dict[str, float] = {}
    for each in plan.releases:
        assert each.mixture is not None
        there = asked.stocks[each.on]
        for part in each.mixture.parts:
            row = there.position[part.cask]
            assert part.litres >= 40.0 - 1e-6
            spent[part.cask] = spent.get(part.cask, 0.0) + part.litres / there.bulk_litres[row]
        assert each.mixture.poured.final_litres >= 430.0 - 1e-3
    assert max(spent.values()) <= 1.0 + 1e-6


@pytest.mark.slow
def test_the_house_keeps_what_must_stay_and_draws_no_more_than_it_may() -> None:
    limits = Limits(litres=200.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    free = plan_stock(question(2, limits=limits))
    ember = ("make", ("Ember",))
    there = question(2).stocks[day(2028)]
    held = float(there.bulk_litres[there.text("make") == "Ember"].sum())
    stay = MustStay(held - 20.0, *ember)
    asked = question(2, limits=limits, house=HouseLimits(stay=(stay,)))
    plan = plan_stock(asked)
    (stays,) = plan.stays
    assert stays.litres >= stays.least - 1e-6
    assert plan.objective >= free.objective - 1e-9
    few = question(2, limits=limits, house=HouseLimits(most_litres_a_year=100.0))
    tight = plan_stock(few)
    assert all(year.litres <= 100.0 + 1e-6 for year in tight.drawn)
    assert all(each.fails and each.missing > 0.3 for each in tight.releases)


def test_a_later_release_keeps_the_cask_that_it_alone_needs() -> None:
    """Taking its own best, the first would spend what the second cannot do without."""
    asked = question(0, casks=4)
    scores = np.array([[30.0, 30.0], [31.0, 30.0], [50.0, 30.0], [11.0, 30.0]])
    from .houses import release, stock

    whole = Limits(litres=400.0, abv_percent=46.0, excess_fraction=0.35)
    litres = np.full(4, 190.0)
    asked = replace(
        asked,
        stocks={day(2027 + year): stock(scores, year, litres) for year in range(2)},
        releases=(
            release("First", 0, (30.5, 30.0), whole),
            release("Second", 1, (31.5, 30.0), whole),
        ),
    )
    plan = plan_stock(asked)
    assert plan.deviation == pytest.approx(0.0, abs=1e-3)
    assert {cask for each in plan.releases for cask in each.casks} == {"C00", "C01", "C02", "C03"}


def test_what_cannot_be_tried_is_refused_all_at_once() -> None:
    asked = question(1)
    first, second = asked.releases
    shares = (Share("make", ("Ember",), 0.7, 0.8), Share("make", ("Fen",), 0.5, 0.6))
    wrong = replace(
        asked,
        releases=(
            replace(first, on=date(2026, 7, 1)),
            replace(second, limits=replace(second.limits, shares=shares), weight=0.0),
            second,
        ),
        house=HouseLimits(stay=(MustStay(1e6),)),
    )
    with pytest.raises(LimitsError) as refused:
        plan_stock(wrong)
    said = str(refused.value)
    assert f"before today, {TODAY}" in said
    assert "stands in the plan 2 times" in said
    assert "more than the whole" in said
    assert "give more than 0" in said
    assert "1,000,000 L must stay" in said


def test_years_without_notes_are_planned_by_litres_and_age_only() -> None:
    asked = question(4)
    late = day(2028)
    plan = plan_stock(replace(asked, litres_only={late: "no model of its notes"}))
    by_notes, by_litres = plan.releases
    assert by_litres.litres_only == "no model of its notes"
    assert by_litres.probability is None
    assert by_litres.deviation == 0.0
    assert not by_litres.fails
    assert by_notes.probability is not None
    assert plan.joint_of == 1


def test_a_proof_ends_within_what_is_told_as_proven_however_many_points_there_are() -> None:
    """Of hundreds of points a gap in proportion to them is larger than a thousandth of one."""
    few = Limits(litres=900.0, abv_percent=46.0, drawing=Drawing.PART, smallest_draw_litres=40.0)
    problem = build_problem(question(7, casks=10, releases=3, limits=few))
    loose = solve_program(problem, 60.0, 2000)
    assert loose is not None
    assert loose.objective > 100.0  # there is not enough for all three
    found = solve_program(problem, 60.0, 2000, loose.objective)
    assert found is not None
    assert found.objective - found.bound <= PROVEN_GAP
    assert found.objective <= loose.objective + 1e-6


def test_a_small_plan_that_is_not_proven_says_bound_and_gap(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whole casks of which the best few are a matter of trying: one node proves nothing."""
    from analysis.stock_plan import choose as choosing

    monkeypatch.setattr(choosing, "most_nodes", lambda _: 1)
    plan = plan_stock(question(0, casks=9, releases=3))
    assert plan.ended is Ended.DONE
    assert not plan.proven
    assert "could gain" in plan.quality_sentence
    assert "No plan lies nearer" not in plan.quality_sentence


def test_a_change_of_a_small_plan_comes_to_what_planning_anew_does() -> None:
    limits = Limits(litres=450.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    asked = question(12, casks=30, releases=3, limits=limits)
    plan = plan_stock(asked)
    moved = replace(asked.releases[0], on=asked.releases[1].on)
    changed = replace(asked, releases=(moved, *asked.releases[1:]))
    again, anew = plan_stock(changed, begin=plan), plan_stock(changed)
    assert anew.proven
    assert again.objective <= anew.objective + 0.03  # releases keep casks that are as good
