"""Rankings of people who sat several sets, and of products that nobody could rank."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pandas as pd
import pytest

from analysis.ranking import Ranking, RankingWord, assess_ranking, plan_ranking
from analysis.ranking.by_person import chance_of, power_of_people, sums_about
from analysis.ranking.plan import ranking_power


def _ranked(orders: list[str], each: int = 1, gone: str = "") -> Ranking:
    """Judge what people said, an order of products a person, in so many sets."""
    rows = [
        (f"P{who}", one, name, float(place), "not_safe" if name in gone else "kept")
        for who, order in enumerate(orders)
        for one in range(each)
        for place, name in enumerate(order, start=1)
    ]
    return assess_ranking(
        pd.DataFrame(rows, columns=["assessor", "set", "product", "place", "status"])
    )


def test_sets_of_one_person_are_not_so_many_people() -> None:
    found = _ranked(["xyz", "xyz", "zyx"], each=12)
    assert (found.n_rankings, found.n_people) == (36, 3)
    assert found.verdict.word is RankingWord.CANNOT_TELL
    assert any("Each person counts once" in said for said in found.said())


def test_all_ways_are_counted_where_they_are_few() -> None:
    rows = np.array([[-3.0, 1.0, 2.0], [-4.0, 4.0, 0.0], [-2.0, 0.0, 2.0], [1.0, -2.0, 1.0]])
    each = [list(permutations(row)) for row in rows.tolist()]
    sums = np.array([np.sum(ways, axis=0) for ways in product(*each)])
    least = np.sum(rows.sum(axis=0) ** 2) - 1e-9
    about, counted = sums_about(rows, 1)
    assert counted
    assert chance_of(rows, about, counted=counted) == pytest.approx(
        float(np.mean(np.sum(sums**2, axis=1) >= least))
    )


def test_many_who_agree_are_sure() -> None:
    found = _ranked(["xyz"] * 6, each=2)
    assert found.products[0].below == ("z",)


def test_one_person_alone_speaks_of_nobody_else() -> None:
    found = _ranked(["xyz"], each=6)
    assert "to the one person who ranked them" in found.verdict.said
    assert "of the panel one person says nothing" in found.verdict.said
    plan = plan_ranking(3, 6, people=1)
    assert any("not of the panel" in said for said in plan.said())


def test_a_product_nobody_could_rank_leaves_the_others() -> None:
    found = _ranked(["wxyz"] * 8, gone="x")
    assert [one.product for one in found.products] == ["w", "y", "z"]
    assert found.products_left_out == {"x": "not safe"}
    assert "x is left out (not safe)" in found.verdict.said
    beside = _ranked(["wyz"] * 8)
    assert (found.p, found.chi_square, found.n_rankings) == (beside.p, beside.chi_square, 8)


def test_a_plan_counts_people() -> None:
    assert plan_ranking(3, 12, people=2, d_prime=2.0).power[-1].power == 0.0
    # Three sets make one person's order surer, yet do not make three people of one.
    again = power_of_people(3, 8, 3, 1.0, 0.05)
    assert ranking_power(3, 8, 1.0) < again < ranking_power(3, 24, 1.0)
