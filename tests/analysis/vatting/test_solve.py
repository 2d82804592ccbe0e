from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from analysis.target import Target
from analysis.vatting import (
    Basis,
    Drawing,
    Limits,
    MixingRule,
    NoVatting,
    Share,
    Stock,
    VattingPlan,
    plan_vatting,
)
from analysis.vatting.model import build_model
from analysis.vatting.relax import solve_relaxed
from analysis.vatting.solve import solve
from analysis.vatting.task import band_of, make_task
from tests.analysis.vatting.brute import best_parts, best_whole, broken, missed
from tests.houses.stocks import stock_of, target_of
from tests.thinned import some

SMOKY = MixingRule({"smoke": 0.5})
EXPONENT = np.array([0.5, 1.0])


def litres_of(stock: Stock, plan: VattingPlan) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    litres = np.zeros(len(stock))
    for part in plan.mixture.parts:
        litres[stock.position[part.cask]] = part.litres
    return litres


def plan_for(stock: Stock, target: Target, limits: Limits) -> VattingPlan | NoVatting:
    return plan_vatting(stock, target, limits, SMOKY, kappas=(0.0,))


WHOLE = [
    Limits(litres=700, excess_fraction=0.1),
    Limits(litres=900, excess_fraction=0.2, casks_max=4),
    Limits(litres=900, excess_fraction=0.1, casks_min=6),
    Limits(litres=800, excess_fraction=0.1, age_statement_years=12),
    Limits(litres=800, excess_fraction=0.1, must_include=("C003",), must_exclude=("C001", "C005")),
    Limits(
        litres=800,
        excess_fraction=0.1,
        shares=(Share("wood", ("oak butt",), 0.3, 0.6, Basis.CASKS),),
    ),
    Limits(
        litres=800,
        excess_fraction=0.1,
        shares=(Share("make", ("Reed",), 0.35, 0.65, Basis.LPA),),
    ),
    Limits(litres=800, excess_fraction=0.1, abv_percent=57.0),
]


@pytest.mark.parametrize("limits", some(WHOLE, 3))
@pytest.mark.parametrize("seed", some([1, 2, 3], 3))
def test_whole_casks_equal_the_best_of_all_choices(limits: Limits, seed: int) -> None:
    stock = stock_of(11, seed=seed, sd=0.0)
    target = target_of({"smoke": 38.0, "plum": 30.0}, 1.5)
    best = best_whole(stock, target, limits, EXPONENT)
    plan = plan_for(stock, target, limits)
    if np.isinf(best):
        assert isinstance(plan, NoVatting)
        assert plan.proven
        return
    assert isinstance(plan, VattingPlan)
    litres = litres_of(stock, plan)
    assert broken(stock, limits, litres) == []
    assert plan.proven
    assert missed(stock, target, limits, EXPONENT, litres) == pytest.approx(best, abs=0.002)


PARTS = [
    Limits(litres=500, drawing=Drawing.PART),
    Limits(litres=500, drawing=Drawing.PART, casks_max=2, smallest_draw_litres=60),
    Limits(litres=500, drawing=Drawing.PART, casks_min=5, smallest_draw_litres=40),
    Limits(litres=500, drawing=Drawing.PART, leave_litres=60, smallest_draw_litres=30),
    Limits(
        litres=500,
        drawing=Drawing.PART,
        smallest_draw_litres=50,
        shares=(Share.about("wood", "oak butt", 0.5),),
    ),
]


@pytest.mark.parametrize("limits", some(PARTS, 2))
@pytest.mark.parametrize("seed", some([4, 5], 2))
def test_parts_of_casks_equal_the_best_of_all_choices(limits: Limits, seed: int) -> None:
    stock = stock_of(6, seed=seed, sd=0.0)
    target = target_of({"smoke": 38.0, "plum": 30.0}, 1.5)
    best = best_parts(stock, target, limits, EXPONENT)
    plan = plan_for(stock, target, limits)
    if np.isinf(best):
        assert isinstance(plan, NoVatting)
        return
    assert isinstance(plan, VattingPlan)
    litres = litres_of(stock, plan)
    assert broken(stock, limits, litres) == []
    assert plan.proven
    assert missed(stock, target, limits, EXPONENT, litres) == pytest.approx(best, abs=0.002)


@pytest.mark.parametrize("aim", [30.0, 95.0])
def test_the_bound_is_that_of_the_plain_linear_program_over_all_casks(aim: float) -> None:
    stock = stock_of(2500, ["smoke", "plum", "wax"], seed=9)
    target = target_of({"smoke": aim, "plum": 24.0, "wax": 50.0}, 2.0)
    limits = Limits(
        bottles=5000,
        drawing=Drawing.PART,
        shares=(Share.about("wood", "oak butt", 0.4),),
        casks_max=60,
    )
    task = make_task(stock, target, limits, SMOKY)
    model = build_model(task, band_of(task))
    relaxed = solve_relaxed(model)
    n, k = model.n, len(model.soft)
    ceiling = np.ones((1, n))
    plain = linprog(
        np.r_[model.cost + model.cask_cost, model.soft_weight],
        A_ub=np.block(
            [
                [model.soft, -np.eye(k)],
                [model.hard, np.zeros((len(model.hard), k))],
                [ceiling, np.zeros((1, k))],
            ]
        ),
        b_ub=np.r_[np.zeros(k), model.hard_limit, 60.0],
        bounds=[*[(0.0, 1.0)] * n, *[(0.0, None)] * k],
    )
    assert relaxed.feasible
    assert relaxed.bound == pytest.approx(plain.fun, abs=2e-6)
    assert np.all(model.hard @ relaxed.fractions <= model.hard_limit + 1e-6)


def test_the_bound_is_never_above_an_answer() -> None:
    stock = stock_of(900, ["smoke", "plum", "wax"], seed=3)
    target = target_of({"smoke": 30.0, "plum": 24.0, "wax": 50.0}, 0.5)
    for drawing in Drawing:
        task = make_task(stock, target, Limits(bottles=2500, drawing=drawing), SMOKY)
        found = solve(build_model(task, band_of(task)))
        assert found.fractions is not None
        assert found.bound <= found.objective + 1e-9
        assert found.gap <= 0.05


def test_more_casks_than_the_integer_program_takes_are_still_exact_in_parts() -> None:
    stock = stock_of(3000, ["smoke", "plum", "wax"], seed=6)
    target = target_of({"smoke": 45.0, "plum": 24.0, "wax": 50.0}, 1.0)
    limits = Limits(bottles=3000, drawing=Drawing.PART, casks_min=10, casks_max=20)
    plan = plan_for(stock, target, limits)
    assert isinstance(plan, VattingPlan)
    assert plan.gap <= 0.001
    assert broken(stock, limits, litres_of(stock, plan)) == []


@pytest.mark.parametrize("seed", range(6))
def test_a_program_that_sees_some_casks_only_gives_no_bound_too_high(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("analysis.vatting.solve._SCREENED", 4)
    stock = stock_of(10, seed=seed, sd=0.0)
    target = target_of({"smoke": 38.0, "plum": 30.0}, 0.5)
    limits = Limits(litres=700, excess_fraction=0.1)
    best = best_whole(stock, target, limits, EXPONENT)
    task = make_task(stock, target, limits, SMOKY)
    model = build_model(task, band_of(task))
    assert model.n > 4
    found = solve(model)
    preferences = 0.002
    assert found.bound <= best + preferences
    assert found.objective >= best - 1e-6
