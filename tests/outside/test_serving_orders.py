"""Serving orders and flights against Williams (1949) and Cochran and Cox (1957)."""

from __future__ import annotations

import json
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from panel.session.blocks import efficiency, one_flight_blocks
from panel.session.codes import generator
from panel.session.orders import serving_orders, williams

# Where each part of the table comes from stands in its "source" and "bib_source".
TABLE: dict[str, Any] = json.loads(
    Path(__file__).with_name("serving_designs.json").read_text("utf-8")
)
# Designs that rest on finite geometry: a search of this size comes near, seldom there.
HARD = {"15,7,15", "16,4,20", "16,6,16", "21,5,21", "25,5,30"}


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


@pytest.mark.parametrize("name", TABLE["bib"])
def test_search_finds_balanced_blocks(name: str) -> None:
    # Cochran and Cox (1957) ch. 11, parameters and E; the blocks are ours.
    t, k, b = map(int, name.split(","))
    row = TABLE["bib"][name]
    design = one_flight_blocks(t, k, b, generator(1, "test"))
    least = 0.99 if name in HARD else 1.0
    assert design.efficiency >= row["E"] * least - 1e-6
    assert design.efficiency_bound == pytest.approx(row["E"], abs=1e-6)
    assert set(design.replications) == {row["r"]}


@pytest.mark.parametrize(
    ("t", "k", "b", "reached"),
    [
        (12, 6, 10, 0.9049),
        (16, 6, 8, 0.8688),
        (16, 8, 14, 0.9317),
        (20, 6, 10, 0.8517),
        (24, 6, 12, 0.8451),
        (24, 6, 14, 0.8508),
        (30, 6, 14, 0.8275),
    ],
)
def test_search_where_no_balanced_blocks_exist(t: int, k: int, b: int, reached: float) -> None:
    # Efficiencies another search program reached; within 0.1 % of it is as good.
    design = one_flight_blocks(t, k, b, generator(1, "test"))
    assert design.efficiency >= reached * 0.999
    assert design.efficiency < design.efficiency_bound
