"""Two products told apart and products ranked, against tables and programs from outside."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats

from analysis.difference.assess import p_different
from analysis.difference.exact import Asked, least_right, most_right_alike, needed_different
from analysis.difference.method import Method, d_prime, right
from analysis.difference.repeats import Answers, interval
from analysis.ranking.chances import squares_by_chance
from analysis.ranking.friedman import exact_p, ranked, statistic

# Minimum right answers by the exact binomial: tables of triangle and paired tests at .05, as they
# are commonly printed (ISO 4120 and 5495 have the same numbers, from memory).
A_THIRD = {3: 3, 7: 5, 12: 8, 18: 10, 24: 13, 27: 14, 30: 15, 36: 18, 60: 27}
A_HALF = {5: 5, 12: 10, 18: 13, 24: 17, 28: 19, 30: 20, 36: 24, 60: 37}
BOTH_WAYS = {6: 6, 12: 10, 18: 14, 24: 18, 28: 20}
# Share right by d-prime: Ennis (1993), Journal of Sensory Studies 8:353-370, and the tetrad by
# Ennis, Ennis, Palen and Lampe (2012), both from memory; reckoned again by quadrature.
PAIRS = {0: 0.5, 0.5: 0.6381632, 1: 0.76024994, 1.5: 0.85557782, 2: 0.9213504, 3: 0.98305257}
# Triangle and duo-trio: the same paper, .4180 .6048 and .5825 .7468 from memory, the other digits
# by quadrature of the integrals with another rule (QUADPACK) and by the noncentral F below.
TRIANGLES = {0: 1 / 3, 0.5: 0.35583465, 1: 0.41804667, 1.5: 0.5064561, 2: 0.60480693, 3: 0.7814276}
DUO_TRIOS = {0: 0.5, 0.5: 0.52234700, 1: 0.58247544, 1.5: 0.66346219, 2: 0.74682025, 3: 0.8764567}
TETRADS = {0: 1 / 3, 0.5: 0.3777187, 1: 0.49380843, 1.5: 0.64093656, 2: 0.77766712, 3: 0.94297162}
# Hollander and Wolfe (1973), p. 140: rounding first base; the printed example of R's friedman.test.
ROUNDING = [
    *([5.4, 5.5, 5.55], [5.85, 5.7, 5.75], [5.2, 5.6, 5.5], [5.55, 5.5, 5.4], [5.9, 5.85, 5.7]),
    *([5.45, 5.55, 5.6], [5.4, 5.4, 5.35], [5.45, 5.5, 5.35], [5.25, 5.15, 5.0], [5.85, 5.8, 5.7]),
    *([5.25, 5.2, 5.1], [5.65, 5.55, 5.45], [5.6, 5.35, 5.45], [5.05, 5.0, 4.95], [5.5, 5.5, 5.4]),
    *([5.45, 5.55, 5.5], [5.55, 5.55, 5.35], [5.45, 5.5, 5.55], [5.5, 5.45, 5.25]),
    *([5.65, 5.6, 5.4], [5.7, 5.65, 5.55], [6.3, 6.3, 6.25]),
]


@pytest.mark.parametrize("n", A_THIRD)
def test_fewest_right_of_a_third(n: int) -> None:
    assert least_right(n, 1 / 3, 0.05) == A_THIRD[n]


@pytest.mark.parametrize("n", A_HALF)
def test_fewest_right_of_a_half(n: int) -> None:
    assert least_right(n, 0.5, 0.05) == A_HALF[n]


@pytest.mark.parametrize("n", BOTH_WAYS)
def test_fewest_right_both_ways(n: int) -> None:
    assert least_right(n, 0.5, 0.025) == BOTH_WAYS[n]


def test_every_critical_number_is_that_of_scipys_test() -> None:
    for n in range(3, 80):
        for guess in (1 / 3, 0.5):
            k = least_right(n, guess, 0.05)
            if k is None:
                assert scipy.stats.binomtest(n, n, guess, "greater").pvalue > 0.05
            else:
                assert scipy.stats.binomtest(k, n, guess, "greater").pvalue <= 0.05
                assert scipy.stats.binomtest(k - 1, n, guess, "greater").pvalue > 0.05


@pytest.mark.parametrize(
    ("method", "table"),
    [
        (Method.STRONGER, PAIRS),
        (Method.TWO_AND_TWO, TETRADS),
        (Method.ODD_ONE_OUT, TRIANGLES),
        (Method.LIKE_THE_FIRST, DUO_TRIOS),
    ],
)
def test_share_right_by_distance(method: Method, table: dict[float, float]) -> None:
    for distance, share in table.items():
        assert right(method, distance) == pytest.approx(share, abs=1e-7)
        assert d_prime(method, share) == pytest.approx(distance, abs=1e-5)


def test_a_tetrad_is_right_as_often_as_it_is_when_it_is_played() -> None:
    rng = np.random.default_rng(11)
    a, b = rng.normal(size=(2, 400_000)), rng.normal(1.0, 1.0, size=(2, 400_000))
    apart = (a.max(axis=0) < b.min(axis=0)) | (b.max(axis=0) < a.min(axis=0))
    assert apart.mean() == pytest.approx(right(Method.TWO_AND_TWO, 1.0), abs=0.003)


def test_threes_are_right_as_often_as_they_are_when_they_are_played() -> None:
    """Nearest in what was smelt: the odd one lies apart from two, the like nearer the first."""
    rng = np.random.default_rng(12)
    (a, again), b = rng.normal(size=(2, 400_000)), rng.normal(1.0, 1.0, size=400_000)
    odd = abs(a - again) < np.minimum(abs(a - b), abs(again - b))
    assert odd.mean() == pytest.approx(right(Method.ODD_ONE_OUT, 1.0), abs=0.003)
    like = abs(a - again) < abs(a - b)
    assert like.mean() == pytest.approx(right(Method.LIKE_THE_FIRST, 1.0), abs=0.003)


def test_the_odd_one_is_right_as_often_as_a_noncentral_f_is_above_three() -> None:
    """The odd one is found where (x - mean of the like)^2 is over three times their spread."""
    for d in (0.3, 1.0, 2.5, 6.0):
        expected = scipy.stats.ncf.sf(3.0, 1, 1, 2.0 * d * d / 3.0)
        assert right(Method.ODD_ONE_OUT, d) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("asked", "d", "first", "stays"),
    [
        (Asked(Method.STRONGER, False), 1.0, 23, 26),
        (Asked(Method.STRONGER, False), 1.5, 13, 13),
        (Asked(Method.TWO_AND_TWO), 1.0, 61, 65),
        (Asked(Method.TWO_AND_TWO), 1.5, 16, 20),
        (Asked(Method.TWO_AND_TWO), 2.0, 7, 9),
        (Asked(Method.ODD_ONE_OUT), 1.0, 202, 220),
        (Asked(Method.ODD_ONE_OUT), 1.5, 53, 57),
        (Asked(Method.ODD_ONE_OUT), 2.0, 23, 23),
        (Asked(Method.LIKE_THE_FIRST), 1.0, 228, 241),
        (Asked(Method.LIKE_THE_FIRST), 1.5, 60, 65),
        (Asked(Method.LIKE_THE_FIRST), 2.0, 26, 28),
    ],
)
def test_answers_needed_by_an_independent_count(
    asked: Asked, d: float, first: int, stays: int
) -> None:
    """Counted again with scipy's binomial alone."""
    share = right(asked.method, d)

    def power(n: int) -> float:
        by_chance = scipy.stats.binom.sf(np.arange(-1, n + 1), n, asked.method.guess)
        k = int(np.argmax(by_chance <= 0.05))
        return float(scipy.stats.binom.sf(k - 1, n, share))

    powers = [power(n) for n in range(1, 320)]
    assert next(n for n, p in enumerate(powers, 1) if p >= 0.8) == first
    assert max(n for n, p in enumerate(powers, 1) if p < 0.8) + 1 == stays
    needed = needed_different(asked, d, 0.8)
    assert (needed.first, needed.stays) == (first, stays)


def test_most_right_for_alike() -> None:
    """Similarity with a share of discriminators of .3 and an error of .05, p0 = 1/3."""
    share = 1 / 3 + 2 / 3 * 0.3
    found = {n: most_right_alike(n, share, 0.05) for n in (18, 30, 60, 96)}
    assert found == {18: 5, 30: 11, 60: 25, 96: 42}


@pytest.mark.parametrize(("x", "n"), [(21, 30), (15, 26), (0, 12), (12, 12), (40, 75)])
def test_an_interval_of_one_answer_each_is_scipys(x: int, n: int) -> None:
    answers = Answers((1,) * x + (0,) * (n - x), (1,) * n)
    exact = scipy.stats.binomtest(x, n).proportion_ci(method="exact")
    assert interval(answers, 0.05) == pytest.approx((exact.low, exact.high), abs=1e-6)


def test_an_interval_of_a_distance() -> None:
    answers = Answers((1,) * 21 + (0,) * 9, (1,) * 30)
    low, high = (d_prime(Method.STRONGER, share) for share in interval(answers, 0.05))
    assert (round(low, 2), round(high, 2)) == (0.02, 1.48)
    assert d_prime(Method.STRONGER, 21 / 30) == pytest.approx(0.74, abs=0.005)


def test_eighteen_of_thirty_threes() -> None:
    answers, asked = Answers((1,) * 18 + (0,) * 12, (1,) * 30), Asked(Method.ODD_ONE_OUT)
    low, high = (d_prime(asked.method, share) for share in interval(answers, 0.05))
    assert (round(low, 2), round(high, 2)) == (0.92, 2.95)
    assert d_prime(asked.method, 18 / 30) == pytest.approx(1.98, abs=0.005)
    expected = scipy.stats.binomtest(18, 30, 1 / 3, "greater").pvalue
    assert p_different(answers, asked) == pytest.approx(expected)
    assert expected == pytest.approx(0.0025, abs=5e-5)


def test_friedman_as_printed() -> None:
    found = statistic(ranked(np.array(ROUNDING)))
    assert found == pytest.approx(11.142857, abs=1e-6)


def test_friedman_is_scipys_with_ties_and_without() -> None:
    rng = np.random.default_rng(5)
    for n, p in ((6, 3), (9, 4), (12, 5), (10, 8)):
        for table in (rng.normal(size=(n, p)), rng.integers(0, 4, size=(n, p)).astype(float)):
            expected = scipy.stats.friedmanchisquare(*table.T).statistic
            assert statistic(ranked(table)) == pytest.approx(expected, rel=1e-9)


# Critical values of Friedman's chi-square and their exact chances: Friedman (1937), tables V and
# VI, from memory as they are reprinted.
EXACT = [((3, 4), 6.5, 0.042), ((3, 5), 6.4, 0.039), ((3, 9), 6.222, 0.048), ((4, 4), 7.8, 0.036)]


@pytest.mark.parametrize(("size", "least", "chance"), EXACT)
def test_exact_chances_of_small_tables(size: tuple[int, int], least: float, chance: float) -> None:
    found = squares_by_chance(*size)
    assert found is not None
    (products, rankings), (squares, chances) = size, found
    chi = squares * 12.0 / (rankings * products * (products + 1))
    assert chances.sum() == pytest.approx(1.0)
    assert chances[chi >= least - 0.001].sum() == pytest.approx(chance, abs=0.0006)


def test_the_exact_chance_with_ties_is_that_of_all_orders() -> None:
    """Counted again over every order of every row, one by one."""
    from itertools import permutations, product

    table = np.array([[1, 1, 2], [1, 2, 3], [3, 1, 2], [1, 2, 2]])
    ranks = ranked(table)
    rows = [list(permutations(row)) for row in ranks.tolist()]
    asked = statistic(ranks)
    assert asked is not None
    all_of = [statistic(np.array(each)) for each in product(*rows)]
    share = np.mean([found is not None and found >= asked - 1e-9 for found in all_of])
    assert exact_p(ranks) == pytest.approx(share)
