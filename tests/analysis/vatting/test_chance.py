from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from analysis.vatting import Limits, MixingRule, Stock
from analysis.vatting.chance import Expectation, expect
from analysis.vatting.task import make_task
from tests.houses.stocks import stock_of, target_of

ROWS = np.array([2, 0, 5])
LITRES = np.array([120.0, 60.0, 20.0])


def expectation(stock: Stock, rule: MixingRule, tolerance: float = 5.0) -> Expectation:
    target = target_of({"smoke": 40.0, "plum": 35.0}, tolerance)
    return expect(make_task(stock, target, Limits(litres=100), rule), ROWS, LITRES)


def middling(sd: float = 2.0) -> Stock:
    stock = stock_of(8, sd=sd)
    stock.estimate[:] = np.linspace(30.0, 45.0, 16).reshape(8, 2)
    return stock


def test_the_chance_of_a_linear_vatting_is_that_of_a_normal() -> None:
    """Independent casks far from the ends: mean and variance add up by share of alcohol."""
    stock = middling(sd=3.0)
    found = expectation(stock, MixingRule(rule_sd=1.5))
    lpa = LITRES * stock.casks["abv"].to_numpy()[ROWS]
    shares = lpa / lpa.sum()
    mean = shares @ stock.estimate[ROWS]
    sd = np.sqrt((shares**2).sum() * 9.0 + 1.5**2)
    aims = np.array([40.0, 35.0])
    each = norm.cdf(aims + 5.0, mean, sd) - norm.cdf(aims - 5.0, mean, sd)
    assert [line.estimate for line in found.lines] == pytest.approx(mean)
    assert [line.sd for line in found.lines] == pytest.approx([sd, sd], rel=0.03)
    assert [line.probability for line in found.lines] == pytest.approx(each, abs=0.015)
    assert found.probability == pytest.approx(each.prod(), abs=0.02)
    assert found.worst_descriptor == ("smoke", "plum")[int(each.argmin())]


def test_the_order_of_the_parts_changes_nothing() -> None:
    task = make_task(middling(), target_of({"smoke": 40.0}), Limits(litres=100), MixingRule())
    assert expect(task, ROWS, LITRES) == expect(task, ROWS[::-1], LITRES[::-1])


def test_errors_that_casks_share_do_not_average_out() -> None:
    """All of a cask's error common to the wood: the vatting errs as much as one cask."""
    own = middling(sd=4.0)
    shared = replace(own, sd=np.zeros_like(own.sd), loadings=np.full((8, 2, 1), 4.0))
    alone = expectation(own, MixingRule(rule_sd=0.0))
    together = expectation(shared, MixingRule(rule_sd=0.0))
    assert together.lines[0].sd == pytest.approx(4.0, rel=0.04)
    assert alone.lines[0].sd < 3.2


def test_lines_that_err_together_are_right_together() -> None:
    """One source for both lines: the joint chance is that of the less sure, not the product."""
    stock = middling()
    stock.estimate[:] = [40.0, 35.0]
    shared = replace(stock, sd=np.zeros_like(stock.sd), loadings=np.full((8, 2, 1), 5.0))
    found = expectation(shared, MixingRule(rule_sd=0.0))
    assert found.probability == pytest.approx(norm.cdf(1.0) - norm.cdf(-1.0), abs=0.03)


def test_joint_draws_are_used_where_they_are_given() -> None:
    stock = middling()
    rng = np.random.default_rng(4)
    draws = stock.estimate + rng.normal(0.0, 3.0, (4000, 8, 2))
    drawn = expectation(replace(stock, draws=draws), MixingRule())
    plain = expectation(replace(stock, sd=np.full((8, 2), 3.0)), MixingRule())
    assert drawn.probability == pytest.approx(plain.probability, abs=0.02)


def test_what_the_panel_may_be_off_lowers_the_chance() -> None:
    stock = middling()
    stock.estimate[:] = [40.0, 35.0]
    off = replace(stock, panel_sd={"smoke": 4.0})
    assert expectation(off, MixingRule()).probability < expectation(stock, MixingRule()).probability
    assert expectation(off, MixingRule()).lines[0].sd > 4.0


def test_a_side_beyond_the_line_is_free() -> None:
    stock = middling(sd=0.0)
    stock.estimate[:] = 0.0
    target = target_of({"smoke": 2.0}, 5.0)
    task = make_task(stock, target, Limits(litres=100), MixingRule(rule_sd=1.0))
    assert expect(task, ROWS, LITRES).probability == pytest.approx(1.0, abs=1e-6)


def test_more_potent_notes_come_out_stronger() -> None:
    linear = expectation(middling(), MixingRule())
    potent = expectation(middling(), MixingRule({"smoke": 0.5}))
    assert potent.lines[0].estimate > linear.lines[0].estimate
    assert potent.lines[1].estimate == linear.lines[1].estimate
