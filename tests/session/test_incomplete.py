"""Some of the draws for each assessor, flights by smoke, and the glass behind it."""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from panel.errors import PlanRefused
from panel.kinds import GlassKind, PeatOrder, SessionKind
from panel.session.blocks import DesignError, efficiency, is_connected
from panel.session.class_flights import class_groups, split_by_class
from panel.session.codes import CodesError, clash, draw_codes_together, generator
from panel.session.drafts import planned_again
from panel.session.incomplete import near_balanced
from panel.session.plan import PlanSummary, plan_session, summarise
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store.engine import Store
from panel.store.key import KeyRow, PlannedServing, PlannedWay
from panel.store.sessions import Serving
from tests.examples import examples
from tests.houses.to_plan import CODES, plan

TWELVE = tuple(f"D{n}" for n in range(1, 13))
MIXED = (*(f"D{n}" for n in range(1, 8)), "D14", "D15", "D16")
"""Seven unpeated draws and three smoky ones."""
seeds = st.integers(0, 2**64)


def planned(house: Store, now: datetime, **changes: object) -> PlanSummary:
    with house.write() as db:
        return plan_session(db, plan(**changes), now=now, by="L1")


def served(house: Store, now: datetime) -> dict[tuple[str, int], list[tuple[str, GlassKind, int]]]:
    """Seal it and return by assessor and flight what stands there in order, warm-up left out."""
    with house.write() as db:
        seal_session(db, "spring", now=now, by="L1")
        key = {row.code: row for row in db.scalars(select(KeyRow))}
        found: dict[tuple[str, int], list[tuple[str, GlassKind, int]]] = {}
        for glass in db.scalars(select(Serving).order_by(Serving.flight, Serving.position)):
            row = key[glass.code]
            if not glass.warm_up:
                where = found.setdefault((glass.person.code, glass.flight), [])
                where.append((row.draw.label, row.kind, row.replicate))
        return found


@pytest.mark.slow
@settings(deadline=None, max_examples=examples(25))
@given(st.integers(3, 16), st.integers(2, 8), st.integers(1, 12), seeds)
def test_all_get_as_many_and_all_are_linked(t: int, k: int, b: int, seed: int) -> None:
    try:
        rows = near_balanced(t, k, b, generator(seed, "trays"))
    except DesignError:
        # k = t has nothing to choose; fewer than t + b - 1 glasses cannot link t samples.
        assert k >= t or b * (k - 1) < t - 1 or b * (k - 1) - (t - 1) < 3
        return
    assert [len(set(row)) for row in rows] == [k] * b
    times = Counter(sample for row in rows for sample in row)
    assert max(times.values()) - min(times.get(s, 0) for s in range(t)) <= 1
    assert is_connected(t, rows)


@pytest.mark.slow
def test_a_longer_search_is_no_worse_and_here_better() -> None:
    short = near_balanced(30, 6, 14, generator(1, "trays"))
    long = near_balanced(30, 6, 14, generator(1, "trays"), search=5)
    assert efficiency(30, long)[0] > efficiency(30, short)[0] + 1e-4


def test_trays_that_cannot_link_everything_are_refused(house: Store, fixed_now: datetime) -> None:
    with pytest.raises(DesignError, match="need at least 5 assessors"):
        near_balanced(16, 4, 4, generator(1, "trays"))
    asked = plan(draws=TWELVE, glasses_each=2)
    with house.write() as db, pytest.raises(PlanRefused, match="at least 11 assessors"):
        plan_session(db, asked, now=fixed_now, by="L1")


@pytest.mark.slow
def test_each_gets_some_of_the_draws_and_the_plan_says_how_even(
    house: Store, fixed_now: datetime
) -> None:
    summary = planned(house, fixed_now, draws=TWELVE, glasses_each=6)
    assert summary.flights == 1
    assert summary.design is not None
    assert summary.design.block == "flight"
    assert 0.85 < summary.design.efficiency <= summary.design.efficiency_bound < 1
    said = " ".join(summary.lines())
    assert "comparisons keep" in said
    assert "stands in each place" in said
    for tray in served(house, fixed_now).values():
        tests = [label for label, kind, _ in tray if kind is GlassKind.TEST]
        assert (len(tests), len(set(tests))) == (7, 6)
    with house.read() as db:
        assert {len(tray.draws) for tray in summarise(db, "spring").trays} == {6}
        again = planned_again(db, "spring")
    assert (again.glasses_each, again.assigned, again.replicates) == (6, (), 1)


@pytest.mark.slow
def test_position_and_neighbour_counts_are_those_of_the_trays(
    house: Store, fixed_now: datetime
) -> None:
    figures = planned(house, fixed_now, draws=TWELVE, glasses_each=6, reference=None).design
    assert figures is not None
    trays = [
        [(label, replicate) for label, _, replicate in tray]
        for tray in served(house, fixed_now).values()
    ]
    places = Counter((glass, place) for tray in trays for place, glass in enumerate(tray))
    glasses = {glass for tray in trays for glass in tray}
    counted = sorted(tuple(places[glass, place] for place in range(7)) for glass in glasses)
    assert list(figures.position_counts) == counted
    follows = Counter(pair for tray in trays for pair in pairwise(tray))
    assert [figures.neighbour_counts[n] for n in range(1, max(follows.values()) + 1)] == [
        list(follows.values()).count(n) for n in range(1, max(follows.values()) + 1)
    ]


def test_all_draws_each_is_a_session_as_ever(house: Store, fixed_now: datetime) -> None:
    planned(house, fixed_now, glasses_each=6)
    with house.read() as db:
        assert db.scalars(select(PlannedServing)).all() == []
        assert db.scalars(select(PlannedWay)).all() == []


@pytest.mark.slow
def test_several_flights_part_the_smoke_by_themselves(house: Store, fixed_now: datetime) -> None:
    summary = planned(house, fixed_now, draws=(*MIXED[:6], *MIXED[-3:]))
    assert summary.flights == 2
    assert any("flights of its own" in said for said in summary.warnings)
    smoky = {"D14", "D15", "D16"}
    for (_, flight), tray in served(house, fixed_now).items():
        tests = {label for label, kind, _ in tray if kind is GlassKind.TEST}
        assert tests <= smoky if flight == 2 else not tests & smoky
        assert [kind for _, kind, _ in tray].count(GlassKind.REFERENCE) == 1


@pytest.mark.slow
def test_one_flight_keeps_the_smoke_last_unless_asked(house: Store, fixed_now: datetime) -> None:
    draws = ("D1", "D2", "D3", "D4", "D15", "D16")
    assert planned(house, fixed_now, draws=draws).flights == 1
    assert planned(house, fixed_now, draws=draws, peat=PeatOrder.APART).flights == 2
    summary = planned(house, fixed_now, draws=draws, peat=PeatOrder.BALANCED)
    assert any("stand in any order" in said for said in summary.warnings)
    trays = served(house, fixed_now)
    places = {
        place
        for tray in trays.values()
        for place, (label, _, _) in enumerate(tray)
        if label in ("D15", "D16")
    }
    assert min(places) < len(draws) - 2  # whatever chance drew, smoke is not last on every tray


@pytest.mark.slow
def test_the_duplicate_after_the_smoke_is_unpeated_and_last(
    house: Store, fixed_now: datetime
) -> None:
    draws = ("D1", "D2", "D3", "D4", "D15", "D16")
    before = planned(house, fixed_now, draws=draws)
    assert any("once a quarter" in said for said in before.warnings)
    planned(house, fixed_now, draws=draws, after_peat=True)
    for tray in served(house, fixed_now).values():
        label, kind, replicate = tray[-1]
        assert (label in draws[:4], kind, replicate) == (True, GlassKind.TEST, 2)
    with house.write() as db:
        open_session(db, "spring", now=fixed_now, by="L1")
    later = planned(house, fixed_now, name="later", draws=draws)
    assert not any("once a quarter" in said for said in later.warnings)


def test_it_is_last_in_flights_by_smoke_too(house: Store, fixed_now: datetime) -> None:
    planned(house, fixed_now, draws=(*MIXED[:6], *MIXED[-3:]), after_peat=True)
    trays = served(house, fixed_now)
    for code in CODES:
        label, _, replicate = trays[code, 2][-1]
        assert (label in MIXED[:7], replicate) == (True, 2)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"after_peat": True}, "all of one peat"),
        ({"draws": MIXED[4:], "after_peat": True, "peat": PeatOrder.BALANCED}, "not anywhere"),
        ({"draws": MIXED[4:], "after_peat": True, "duplicates": ()}, "plan at least one"),
        ({"draws": MIXED[4:], "after_peat": True, "duplicates": ("D15",)}, "'D15' is peated"),
        ({"glasses_each": 1}, "2 at least"),
        ({"search": 0}, "1 to 100 times"),
        (
            {"kind": SessionKind.OWN_WORDS, "descriptors": (), "glasses_each": 4},
            "everybody noses every glass",
        ),
    ],
)
def test_what_cannot_be_laid_is_refused(
    house: Store, fixed_now: datetime, changes: dict[str, object], said: str
) -> None:
    with house.write() as db, pytest.raises(PlanRefused, match=said):
        plan_session(db, plan(**changes), now=fixed_now, by="L1")


def test_classes_share_flights_only_where_they_must() -> None:
    tray = [0] * 5 + [1] * 2 + [3] * 4
    assert class_groups([tray], 7, 3) == [{0}, {1}, {3}]
    assert class_groups([tray], 7, 2) in ([{0, 1}, {3}], [{0}, {1, 3}])
    split = split_by_class([list(range(11))] * 4, tray, 7, 2, generator(1, "flights"))
    for flights in split:
        assert sorted(glass for row in flights for glass in row) == list(range(11))
        assert max(tray[g] for g in flights[0]) <= min(tray[g] for g in flights[1])


@pytest.mark.slow
def test_more_codes_than_keep_a_distance_keep_it_on_each_tray() -> None:
    rows = near_balanced(78, 7, 14, generator(5, "trays"))
    codes = draw_codes_together(78, rows, generator(5, "codes"))
    assert len(set(codes)) == 78
    for row in rows:
        assert not any(clash(codes[a], codes[b]) for a, b in combinations(row, 2))
    with pytest.raises(CodesError):
        draw_codes_together(700, rows, generator(5, "codes"))
