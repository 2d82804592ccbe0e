from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.vatting import MixingRule
from analysis.vatting.mixing import expected_amounts, how_mixed
from tests.houses.stocks import stock_of


def mixed_score(scores: Sequence[float], shares: Sequence[float], exponent: float) -> float:
    """What a vatting of casks that are surely so strong is taken to be."""
    stock = stock_of(len(scores), ["smoke"], sd=0.0)
    stock.estimate[:, 0] = scores
    amounts = expected_amounts(stock, ["smoke"], MixingRule({"smoke": exponent}))
    return float(amounts.score(np.asarray(shares) @ amounts.mean)[0])


@pytest.mark.parametrize(
    ("exponent", "score"), [(1.0, 12.5), (0.7, 17.8), (0.5, 25.7), (0.35, 35.8)]
)
def test_a_tenth_of_heavy_smoke_by_exponent(exponent: float, score: float) -> None:
    """By hand from Stevens' power law: (.1 x 80^(1/n) + .9 x 5^(1/n))^n."""
    assert mixed_score([80.0, 5.0], [0.1, 0.9], exponent) == pytest.approx(score, abs=0.05)


def test_half_and_half_is_little_above_the_mean() -> None:
    """By hand: the root of (35^2 + 55^2) / 2 is 46.10, 1.1 above the mean."""
    assert mixed_score([35.0, 55.0], [0.5, 0.5], 0.5) == pytest.approx(46.10, abs=0.01)


@given(
    scores=st.lists(st.floats(0.0, 100.0), min_size=2, max_size=6),
    exponent=st.floats(0.3, 1.0),
)
def test_a_mixture_lies_between_its_parts_and_above_their_mean(
    scores: list[float], exponent: float
) -> None:
    mixed = mixed_score(scores, [1.0 / len(scores)] * len(scores), exponent)
    assert min(scores) - 1e-9 <= mixed <= max(scores) + 1e-9
    assert mixed >= np.mean(scores) - 1e-9


def test_the_default_is_in_proportion_and_potent_notes_are_named() -> None:
    rule = MixingRule({"smoke": 0.5})
    assert rule.exponents_of(["smoke", "plum"]).tolist() == [0.5, 1.0]
    assert MixingRule().exponents_of(["smoke"]).tolist() == [1.0]


def test_what_a_rule_may_be_off_is_the_root_of_both_squares_and_nothing_for_one_cask() -> None:
    """By hand: the bench told 3 points of smoke and nothing of plum; the rule is off 4 anyway."""
    half = np.array([0.5, 0.5])
    for rule_sd, wanted in ((4.0, [5.0, 4.0]), (0.0, [3.0, 0.0])):
        rule = MixingRule(bench_sd={"smoke": 3.0}, rule_sd=rule_sd)
        whole = rule.sd_of(["smoke", "plum"], half) / how_mixed(half)
        assert whole.tolist() == pytest.approx(wanted)
        assert rule.sd_of(["smoke", "plum"], np.array([1.0, 0.0])).tolist() == [0.0, 0.0]


@pytest.mark.parametrize(
    "rule",
    [{"exponents": {"smoke": 0.0}}, {"gains": {"smoke": -1.0}}, {"rule_sd": -0.1}],
)
def test_figures_that_mean_nothing_are_refused(rule: dict[str, object]) -> None:
    with pytest.raises(InputError):
        MixingRule(**rule)  # type: ignore[arg-type]


@pytest.mark.parametrize("exponent", [1.0, 0.5, 0.7])
def test_expected_amounts_against_a_plain_simulation(exponent: float) -> None:
    stock = stock_of(3, ["smoke"], sd=6.0)
    stock.estimate[:, 0] = [1.0, 40.0, 97.0]
    found = expected_amounts(stock, ["smoke"], MixingRule({"smoke": exponent}))
    rng = np.random.default_rng(8)
    drawn = np.clip(rng.normal(stock.estimate[:, 0], 6.0, (400_000, 3)), 0.0, 100.0)
    simulated = (drawn ** (1.0 / exponent)).mean(axis=0)
    assert found.mean[:, 0] == pytest.approx(simulated, rel=0.02)


def test_amounts_and_scores_go_back_and_forth() -> None:
    amounts = expected_amounts(
        stock_of(4), ["smoke", "plum"], MixingRule({"smoke": 0.5}, {"plum": 0.9})
    )
    scores = np.array([33.0, 21.0])
    assert amounts.score(amounts.amount(scores)) == pytest.approx(scores)
