"""Serving orders: everyone gets every glass, places and neighbours even, smoke last."""

from __future__ import annotations

from collections import Counter
from itertools import combinations_with_replacement, pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panel.session.balance import PositionBalancer
from panel.session.codes import generator
from panel.session.orders import OrdersError, peat_class, serving_orders, williams
from tests.examples import examples

seeds = st.integers(0, 2**128 - 1)
sizes = st.integers(1, 12)
panels = st.integers(1, 30)
Rows = tuple[tuple[int, ...], ...]


def unevenness(rows: Rows) -> int:
    """Count again, from the rows alone."""
    follows = Counter(pair for row in rows for pair in pairwise(row))
    places = Counter((glass, place) for row in rows for place, glass in enumerate(row))
    return sum(n * n for n in follows.values()) + sum(n * n for n in places.values())


@settings(deadline=None, max_examples=examples(40))
@given(sizes, panels, seeds)
def test_everyone_gets_every_glass(k: int, assessors: int, seed: int) -> None:
    served = serving_orders(k, assessors, generator(seed, "orders"))
    assert len(served.orders) == assessors
    assert all(sorted(order) == list(range(k)) for order in served.orders)
    assert served.balance.unevenness == unevenness(served.orders)
    assert served.balance.unevenness >= served.balance.least_unevenness


@settings(deadline=None, max_examples=examples(40))
@given(st.integers(1, 6).map(lambda half: 2 * half), panels, seeds)
def test_even_numbers_of_glasses_are_always_at_the_floor(k: int, assessors: int, seed: int) -> None:
    served = serving_orders(k, assessors, generator(seed, "orders"))
    assert served.balance.unevenness == served.balance.least_unevenness
    for row in served.balance.position_counts:
        assert max(row) - min(row) <= 1


@pytest.mark.slow
@settings(deadline=None, max_examples=examples(20))
@given(st.integers(1, 5).map(lambda half: 2 * half + 1), st.integers(1, 20), seeds)
def test_odd_numbers_come_near(k: int, assessors: int, seed: int) -> None:
    balance = serving_orders(k, assessors, generator(seed, "orders")).balance
    # Three glasses for three people cannot be better than 40 % over; larger ones are.
    assert balance.excess_percent <= (40.1 if k == 3 else 20.0)


@pytest.mark.parametrize(("k", "assessors"), [(3, 1), (3, 2), (3, 3), (3, 4), (3, 5), (4, 3)])
def test_no_orders_are_better(k: int, assessors: int) -> None:
    """Try every set of orders there is."""
    rows = list(permutations(range(k)))
    best = min(unevenness(tuple(c)) for c in combinations_with_replacement(rows, assessors))
    balance = serving_orders(k, assessors, generator(1, "orders")).balance
    assert balance.unevenness == best
    assert balance.least_unevenness <= best


@settings(deadline=None, max_examples=examples(40))
@given(st.lists(st.integers(0, 3), min_size=1, max_size=12), panels, seeds)
def test_smokier_glasses_come_later(classes: list[int], assessors: int, seed: int) -> None:
    served = serving_orders(len(classes), assessors, generator(seed, "orders"), classes)
    for order in served.orders:
        assert sorted(order) == list(range(len(classes)))
        smoke = [classes[glass] for glass in order]
        assert smoke == sorted(smoke)
    assert served.balance.unevenness >= served.balance.least_unevenness


def test_classes_are_balanced_inside_and_between() -> None:
    classes = [0, 0, 0, 0, 1, 1, 1, 1]
    served = serving_orders(8, 4, generator(3, "orders"), classes)
    inside = Counter(
        (a, b) for row in served.orders for a, b in pairwise(row) if classes[a] == classes[b]
    )
    assert set(inside.values()) == {1}
    assert len(inside) == 24
    assert served.balance.unevenness == served.balance.least_unevenness
    assert "place and peat cannot be told apart" in served.balance.sentence()


def test_one_class_is_no_class() -> None:
    plain = serving_orders(8, 9, generator(4, "orders"))
    peated = serving_orders(8, 9, generator(4, "orders"), [2] * 8)
    assert plain == peated


def test_same_seed_same_orders_everywhere() -> None:
    # Written down once: a sealed plan must come out the same on another machine.
    served = serving_orders(5, 4, generator(2024, "orders"))
    assert served.orders == ((2, 0, 3, 1, 4), (1, 3, 4, 0, 2), (4, 1, 2, 3, 0), (0, 4, 3, 2, 1))


def test_seeds_change_who_gets_what() -> None:
    firsts = Counter(
        serving_orders(8, 8, generator(seed, "orders")).orders[0][0] for seed in range(400)
    )
    # 50 each on average; five standard deviations either way.
    assert set(firsts) == set(range(8))
    assert all(abs(count - 50) < 5 * 6.7 for count in firsts.values())


@settings(deadline=None, max_examples=examples(30))
@given(st.integers(2, 9), st.integers(1, 6), seeds)
def test_counts_are_kept_while_swapping(k: int, rows: int, seed: int) -> None:
    balancer = PositionBalancer(williams(k)[:rows] * 2, [0] * k)
    best = balancer.anneal(generator(seed, "anneal"), 200)
    again = PositionBalancer(balancer.rows, [0] * k)
    assert balancer.positions == again.positions
    assert balancer.neighbours == again.neighbours
    assert PositionBalancer(best, [0] * k).unevenness() <= again.unevenness()


def test_balance_in_words() -> None:
    whole = serving_orders(8, 8, generator(1, "orders")).balance.sentence()
    assert whole.startswith(
        "Each glass stands in each place once and follows each other glass once"
    )
    assert "as even as this number of assessors allows" in whole
    rest = serving_orders(3, 3, generator(1, "orders")).balance
    assert "40.0 % above a floor" in rest.sentence()
    assert serving_orders(1, 4, generator(1, "orders")).balance.sentence()


@pytest.mark.parametrize(
    ("ppm", "expected"), [(0, 0), (2, 0), (3, 0), (3.1, 1), (15, 1), (15.1, 2), (30, 2), (55, 3)]
)
def test_peat_classes(ppm: float, expected: int) -> None:
    assert peat_class(ppm) == expected


def test_impossible_orders_are_refused() -> None:
    for k, assessors in ((0, 5), (5, 0)):
        with pytest.raises(OrdersError, match="at least 1"):
            serving_orders(k, assessors, generator(1, "orders"))
    with pytest.raises(OrdersError, match="give one a glass"):
        serving_orders(5, 5, generator(1, "orders"), [0, 1])
    with pytest.raises(OrdersError, match="at least 1"):
        williams(0)
    with pytest.raises(OrdersError, match="cannot be below 0"):
        peat_class(float("nan"))
