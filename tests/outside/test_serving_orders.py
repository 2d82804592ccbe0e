"""Serving orders and flights against Williams (1949) and Cochran and Cox (1957)."""

from __future__ import annotations

import json
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from panel.session.blocks import efficiency, resolvable_flights
from panel.session.codes import generator
from panel.session.incomplete import near_balanced
from panel.session.orders import serving_orders, williams

# Where each part of the table comes from stands in its "source" and "bib_source".
TABLE: dict[str, Any] = json.loads(
    Path(__file__).with_name("serving_designs.json").read_text("utf-8")
)


@pytest.mark.parametrize("n", range(2, 13))
def test_williams_squares_counted(n: int) -> None:
    # Williams (1949): even n one square, odd n two; neighbours once or twice.
    rows, neighbour, place = TABLE["counts"][str(n)]
    square = williams(n)
    assert len(square) == rows
    follows = Counter(pair for row in square for pair in pairwise(row))
    places = Counter((glass, position) for row in square for position, glass in enumerate(row))
    assert set(follows.values()) == {neighbour} == {1 if n % 2 == 0 else 2}
    assert len(follows) == n * (n - 1)
    assert set(places.values()) == {place}
    assert len(places) == n * n


@pytest.mark.parametrize(("n", "square"), TABLE["williams"].items())
def test_williams_squares_listed(n: str, square: list[list[int]]) -> None:
    # The listed squares count glasses from 1.
    ours = [tuple(glass + 1 for glass in row) for row in williams(int(n))]
    assert Counter(ours) == Counter(map(tuple, square))


def test_first_rows() -> None:
    # Williams (1949): 0, 1, n-1, 2, n-2, ...
    assert williams(6)[0] == (0, 1, 5, 2, 4, 3)
    assert williams(8)[0] == (0, 1, 7, 2, 6, 3, 5, 4)


@pytest.mark.parametrize("n", range(2, 13))
def test_served_squares_keep_the_counts(n: int) -> None:
    # Williams (1949), after glasses and rows were shuffled, for two whole squares.
    rows, neighbour, place = TABLE["counts"][str(n)]
    served = serving_orders(n, 2 * rows, generator(n, "test"))
    follows = Counter(pair for row in served.orders for pair in pairwise(row))
    assert set(follows.values()) == {2 * neighbour}
    assert {count for row in served.balance.position_counts for count in row} == {2 * place}
    assert served.balance.excess_percent == 0.0


@pytest.mark.parametrize("name", [n for n, row in TABLE["bib"].items() if row["blocks"]])
def test_efficiency_of_known_balanced_blocks(name: str) -> None:
    # Cochran and Cox (1957) ch. 11: E = lambda t / (r k).
    t, k, _ = map(int, name.split(","))
    row = TABLE["bib"][name]
    found, bound = efficiency(t, [[glass - 1 for glass in block] for block in row["blocks"]])
    assert found == pytest.approx(row["lam"] * t / (row["r"] * k), abs=1e-9)
    assert found == pytest.approx(row["E"], abs=1e-6)
    assert bound == pytest.approx(t * (k - 1) / (k * (t - 1)), abs=1e-9)


def whole_trays(name: str) -> int:
    """How many people a design serves if each noses everything once; 0 where it cannot."""
    t, k, b = map(int, name.split(","))
    return 0 if t % k else b * k // t if b * k % t == 0 else 0


@pytest.mark.parametrize("name", [name for name in TABLE["bib"] if whole_trays(name)])
def test_search_comes_near_balanced_blocks(name: str) -> None:
    # Cochran and Cox (1957) ch. 11, parameters and E, where b = r t / k flights of k can be
    # served r times over: everybody noses everything. The search also keeps turns even, which
    # balanced blocks do not ask for; what it gives away for that is at most a twentieth here.
    t, k, _ = map(int, name.split(","))
    row, assessors = TABLE["bib"][name], whole_trays(name)
    plan = resolvable_flights(t, k, assessors, generator(1, "test"))
    assert plan.design.efficiency >= 0.95 * row["E"]
    assert plan.design.efficiency_bound == pytest.approx(row["E"], abs=1e-6)
    assert set(plan.design.replications) == {row["r"]}


@pytest.mark.parametrize(
    ("t", "k", "assessors", "reached"), [(12, 6, 5, 0.9049), (16, 8, 7, 0.9317), (24, 6, 3, 0.8451)]
)
def test_search_where_no_balanced_blocks_exist(
    t: int, k: int, assessors: int, reached: float
) -> None:
    # Efficiencies another search program reached with as many flights that need not make up
    # whole trays; ours do, and come within 2 %.
    design = resolvable_flights(t, k, assessors, generator(1, "test")).design
    assert 0.98 * reached <= design.efficiency < design.efficiency_bound


@pytest.mark.parametrize("name", [n for n, row in TABLE["bib"].items() if row["blocks"]])
def test_search_finds_the_published_balanced_blocks(name: str) -> None:
    # Cochran and Cox (1957) ch. 11: E = lambda t / (r k), which nothing of that size can pass.
    t, k, b = map(int, name.split(","))
    row = TABLE["bib"][name]
    found, bound = efficiency(t, near_balanced(t, k, b, generator(7, "trays")))
    assert found == pytest.approx(row["lam"] * t / (row["r"] * k), abs=1e-9)
    assert bound == pytest.approx(found, abs=1e-9)
