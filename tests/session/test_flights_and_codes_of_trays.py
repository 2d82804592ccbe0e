"""Trays cut into flights, and codes of trays that hold different glasses."""

from __future__ import annotations

import random

import pytest

from panel.session.codes import CodeSharing
from panel.session.shares import _cut, flights_of_trays, spread_duplicates
from panel.session.tray_codes import _on, codes_of_trays


@pytest.mark.parametrize(
    ("glasses", "count", "sizes"),
    [(7, 3, [3, 2, 2]), (6, 3, [2, 2, 2]), (5, 1, [5]), (8, 3, [3, 3, 2])],
)
def test_a_tray_is_cut_into_flights_as_even_as_can_be(
    glasses: int, count: int, sizes: list[int]
) -> None:
    found = _cut(range(glasses), count, random.Random(1))
    assert [len(row) for row in found] == sizes
    assert sorted(glass for row in found for glass in row) == list(range(glasses))


@pytest.mark.parametrize(("size", "flights"), [(6, [1, 1]), (5, [2, 1]), (3, [2, 1]), (2, [3, 2])])
def test_every_tray_has_as_few_flights_as_hold_it(size: int, flights: list[int]) -> None:
    trays = [(0, 1, 2, 3, 4, 5), (0, 2, 4)]
    found = flights_of_trays(trays, 6, size, random.Random(2))
    assert [len(mine) for mine in found] == flights
    for tray, mine in zip(trays, found, strict=True):
        assert sorted(glass for row in mine for glass in row) == sorted(tray)
        assert max(len(row) for row in mine) <= size


def test_second_glasses_are_of_every_sample_about_as_often() -> None:
    """Whatever is drawn first: on six trays, of three samples, each stands twice on two of them."""
    trays = [(0, 1, 2, 3)] * 6
    for seed in range(5):
        found = spread_duplicates(trays, 1, random.Random(seed), {0, 1, 2})
        assert sorted(sample for (sample,) in found) == [0, 0, 1, 1, 2, 2]
    # Of trays that hold different samples a choice is handed on from tray to tray.
    uneven = [(0, 1), (0, 1), (0, 1), (1, 2), (2, 3), (0, 3)]
    for seed in range(5):
        found = spread_duplicates(uneven, 1, random.Random(seed), {0, 1, 2, 3})
        times = [sum(sample in twice for twice in found) for sample in range(4)]
        assert max(times) - min(times) <= 1
        assert all(set(twice) <= set(tray) for twice, tray in zip(found, uneven, strict=True))


def test_glasses_meet_one_another_in_flights_as_evenly_as_can_be() -> None:
    """Four glasses in two flights of two on three trays: each pair meets once, as in a league."""
    found = flights_of_trays([(0, 1, 2, 3)] * 3, 4, 2, random.Random(5))
    met = sorted(tuple(sorted(row)) for mine in found for row in mine)
    assert met == [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)]


TRAYS: list[list[tuple[int, ...]]] = [[(0, 1), (2,)], [(1, 3)], [(0, 3), (2,)]]


@pytest.mark.parametrize("warm_up", [None, 4])
def test_each_assessor_has_codes_of_the_own_glasses_and_nobody_has_one_of_another(
    warm_up: int | None,
) -> None:
    rng = random.Random(7)
    own = [_on(tray, warm_up) for tray in TRAYS]
    assert own[1] == ({1, 3} if warm_up is None else {1, 3, 4})
    found = codes_of_trays(TRAYS, 5, warm_up, rng, {"100"}, CodeSharing.EACH_ASSESSOR)
    for codes, mine in zip(found, own, strict=True):
        assert {glass for glass, code in enumerate(codes) if code} == mine
    every = [code for codes in found for code in codes if code]
    assert len(set(every)) == len(every)
    assert "100" not in every
    assert all(len(code) == 3 and code.isdigit() for code in every)


def test_where_codes_are_shared_a_glass_has_one_everywhere() -> None:
    shared = next(one for one in CodeSharing if one is not CodeSharing.EACH_ASSESSOR)
    found = codes_of_trays(TRAYS, 4, None, random.Random(7), (), shared)
    assert len(set(found)) == 1
    assert len(set(found[0])) == 4
