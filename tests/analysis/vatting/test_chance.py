from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from analysis.vatting import Limits, MixingRule, Stock
from analysis.vatting.chance import Expectation, Stream, _simulated_amounts, expect
from analysis.vatting.mixing import EXPONENT_DOUBT
from analysis.vatting.task import make_task
from tests.analysis.vatting.test_rows_by_hand import (
    LITRES as QUANTITY,
)
from tests.analysis.vatting.test_rows_by_hand import (
    TARGET,
    plain,
)
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


def one_cask(stock: Stock, rule: MixingRule, litres: list[float]) -> Expectation:
    """Some litres of the first casks of a stock."""
    task = make_task(stock, target_of({"smoke": 40.0, "plum": 35.0}), Limits(litres=100), rule)
    return expect(task, np.arange(len(litres)), np.array(litres))


def test_one_cask_alone_bears_no_error_of_mixing() -> None:
    """Nothing is mixed: what it is like is what was nosed of it, whatever the rule."""
    stock = middling(sd=3.0)
    stock.estimate[:] = [39.0, 33.0]
    wrong = MixingRule({"smoke": 0.5}, {"plum": 0.7}, rule_sd=6.0, bench_sd={"smoke": 5.0})
    alone = one_cask(stock, wrong, [100.0])
    each = norm.cdf([45.0, 40.0], [39.0, 33.0], 3.0) - norm.cdf([35.0, 30.0], [39.0, 33.0], 3.0)
    assert [line.estimate for line in alone.lines] == pytest.approx([39.0, 33.0], abs=0.02)
    assert [line.probability for line in alone.lines] == pytest.approx(each, abs=0.02)
    assert alone == one_cask(stock, wrong, [40.0])


def test_the_error_of_mixing_goes_to_nothing_with_the_second_cask() -> None:
    stock = middling(sd=0.0)
    stock.estimate[:] = 38.0
    stock.casks["abv"] = 60.0
    rule = MixingRule(rule_sd=4.0)
    seconds = (0.1, 1.0, 5.0, 20.0, 50.0)
    sds = [one_cask(stock, rule, [100.0 - second, second]).lines[0].sd for second in seconds]
    assert sds == sorted(sds)
    assert sds[0] == pytest.approx(4.0 * 2.0 * 0.001 * 0.999 / 0.375)
    assert sds[-1] == pytest.approx(4.0)
    assert one_cask(stock, rule, [10.0] * 6).lines[0].sd == pytest.approx(4.0)


def test_the_luck_of_the_draws_that_chose_is_not_told() -> None:
    """The best of twenty vattings that are right eight times in ten, chosen by sixty draws."""
    rng = np.random.default_rng(11)
    half = 1.2816  # of a normal lies within so many standard deviations 80 % of the time
    chose, told = [], []
    for _ in range(60):
        stock = stock_of(20, ["smoke"], sd=0.0)
        draws = 40.0 + rng.normal(0.0, 5.0 / half, (120, 20, 1))
        task = make_task(
            replace(stock, draws=draws),
            target_of({"smoke": 40.0}, 5.0),
            Limits(litres=100),
            MixingRule(),
        )
        of = [
            [
                expect(task, np.array([cask]), np.ones(1), stream=stream).probability
                for cask in range(20)
            ]
            for stream in (Stream.CHOOSING, Stream.TOLD)
        ]
        best = int(np.argmax(of[0]))
        chose.append(of[0][best])
        told.append(of[1][best])
    assert np.mean(chose) > 0.87
    assert np.mean(told) == pytest.approx(0.8, abs=3.0 * 0.4 / np.sqrt(60 * 60))


def test_what_a_wrong_exponent_may_do_counts_where_the_casks_differ() -> None:
    """One smoky cask among four: how far its note carries is what nobody knows for certain."""
    stock = stock_of(8, ["smoke"], sd=0.0, abv=[60.0] * 8)
    task = make_task(
        stock,
        target_of({"smoke": 20.0}),
        Limits(litres=100),
        MixingRule({"smoke": 0.5}, rule_sd=1.0),
    )
    rows, litres = np.arange(4), np.full(4, 50.0)
    stock.estimate[:, 0] = 20.0
    assert expect(task, rows, litres).lines[0].sd == pytest.approx(1.0, abs=0.01)
    stock.estimate[:, 0] = [80.0, 2.0, 2.0, 2.0] * 2
    by_hand = [
        (0.25 * 80.0 ** (1 / n) + 0.75 * 2.0 ** (1 / n)) ** n
        for n in (0.5 * np.exp(-EXPONENT_DOUBT), 0.5 * np.exp(EXPONENT_DOUBT))
    ]
    wrong = (by_hand[0] - by_hand[1]) / 2.0
    assert wrong > 4.0
    assert expect(task, rows, litres).lines[0].sd == pytest.approx(np.hypot(1.0, wrong), rel=0.01)


def test_joint_draws_that_choose_are_others_than_those_that_tell() -> None:
    stock = plain(2)
    draws = np.zeros((6, 2, 2))
    draws[0::2], draws[1::2] = 10.0, 50.0
    task = make_task(replace(stock, draws=draws), TARGET, QUANTITY, MixingRule(rule_sd=0.0))
    found = [
        _simulated_amounts(task, np.arange(2), np.array([0.5, 0.5]), 3, stream)
        for stream in (Stream.CHOOSING, Stream.TOLD)
    ]
    assert [part.shape for part in found] == [(3, 2)] * 2
    assert sorted(float(np.unique(part).item()) for part in found) == [10.0, 50.0]


def test_errors_that_casks_share_are_not_averaged_out() -> None:
    """Of errors that all casks share the vatting has the whole, of their own the root of a half."""
    stock = plain(2)
    stock.sd[:], stock.estimate[:] = 3.0, 40.0
    shared = replace(stock, loadings=np.full((2, 2, 1), 4.0))
    for each, sd in ((stock, 3.0 / np.sqrt(2.0)), (shared, np.hypot(3.0 / np.sqrt(2.0), 4.0))):
        task = make_task(each, TARGET, QUANTITY, MixingRule(rule_sd=0.0))
        lines = expect(task, np.arange(2), np.array([50.0, 50.0])).lines
        assert [line.sd for line in lines] == pytest.approx([sd] * 2, rel=0.05)
