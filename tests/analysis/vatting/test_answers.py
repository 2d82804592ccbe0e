"""Of several answers the first is the surest, as far as simulation can tell."""

from __future__ import annotations

from typing import cast

import numpy as np
import pytest

from analysis.vatting import Limits, MixingRule, VattingPlan, plan_vatting
from analysis.vatting.chance import Stream, expect
from analysis.vatting.task import make_task
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 36.0, "plum": 34.0}, 6.0)


def planned(n: int, seed: int, litres: float, *, in_full: bool = True) -> VattingPlan:
    limits = Limits(litres=litres, excess_fraction=0.1)
    plan = plan_vatting(stock_of(n, seed=seed, sd=4.0), TARGET, limits, in_full=in_full)
    assert isinstance(plan, VattingPlan)
    return plan


@pytest.mark.slow
def test_the_surest_answer_comes_first_though_it_was_found_later() -> None:
    first_found, plan = planned(20, 8, 600, in_full=False), planned(20, 8, 600)
    assert plan.answers is not None
    chances = [answer.probability for answer in plan.answers]
    assert plan.mixture == plan.answers[0]
    assert plan.probability == max(chances)
    assert plan.probability > first_found.probability + 0.03
    assert f"{100 * plan.probability:.0f} in 100" in plan.sentence
    failed = {said.found.failed for said in plan.stand_ins or ()}
    assert failed == set(plan.mixture.casks)
    assert plan.bound == first_found.bound
    assert plan.gap == pytest.approx(max(0.0, plan.objective - plan.bound))


def test_an_answer_that_is_told_surer_is_named_with_the_reason() -> None:
    plan = planned(60, 5, 1500)
    assert plan.answers is not None
    first = plan.mixture
    surer = [each for each in plan.answers if each.probability > first.probability]
    assert surer, "the case this test is about"
    for each in surer:
        number = plan.answers.index(each) + 1
        both = f"{each.probability:.3f} against {first.probability:.3f}".replace("0.", ".")
        assert f"answer {number} ({both})" in plan.quality_sentence
        error = np.hypot(each.probability_se, first.probability_se)
        assert each.probability - first.probability < 3.0 * error
    assert "those that choose put" in plan.quality_sentence


def test_without_other_answers_only_bands_are_claimed() -> None:
    said = planned(20, 8, 600, in_full=False).quality_sentence
    assert "the greatest of the bands tried, not of all choices" in said
    assert "errs by ±.0" in said


def test_the_error_of_a_chance_is_what_other_draws_change() -> None:
    task = make_task(stock_of(20, seed=3, sd=4.0), TARGET, Limits(litres=600), MixingRule())
    rows, litres = np.arange(8, dtype=np.intp), np.full(8, 150.0)
    told = [expect(task, rows, litres, stream=cast(Stream, seed)) for seed in range(40)]
    spread = float(np.std([each.probability for each in told], ddof=1))
    mean_error = float(np.mean([each.probability_se for each in told]))
    # Over forty streams a standard deviation is known to about a ninth of itself.
    assert spread == pytest.approx(mean_error, rel=0.35)


@pytest.mark.slow
def test_an_answer_is_listed_once_where_all_its_casks_are_asked_for() -> None:
    stock = stock_of(4, seed=1)
    casks = tuple(map(str, stock.names))
    litres = 0.95 * float(stock.bulk_litres @ stock.abv_percent) / 46.0
    limits = Limits(litres=litres, abv_percent=46.0, excess_fraction=0.1, must_include=casks)
    plan = plan_vatting(stock, TARGET, limits, in_full=True)
    assert isinstance(plan, VattingPlan)
    assert plan.answers is not None
    assert [set(each.casks) for each in plan.answers] == [set(casks)]
