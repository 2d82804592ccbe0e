"""What a session decides by a figure or a day, on either side of it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, datetime
from types import SimpleNamespace
from typing import Any, cast

import pytest
from sqlalchemy import select

from panel.session.balance import PositionBalancer, spread
from panel.session.codes import generator
from panel.session.dose import ETHANOL_GRAMS_A_ML, DoseError, DoseLimits, ethanol_grams
from panel.session.exchange import Exchanger
from panel.session.liquids import strength_in_cask
from panel.session.orders import williams
from panel.session.plan import plan_session
from panel.session.volumes import Poured, Volume, volume_of
from panel.store.contents import Added, Gauge, content_on
from panel.store.engine import Store
from panel.store.log import LogEntry
from tests.houses.to_plan import plan


def test_what_cannot_be_evener_is_left_as_it_is() -> None:
    """It draws no lots either: what is drawn after it comes out the same on every machine."""
    rng, untouched = generator(5, "anneal"), generator(5, "anneal")
    rows = williams(4)
    assert PositionBalancer(rows, [0] * 4).anneal(rng, 100) == rows
    flights = [(0, 1), (2, 3), (0, 2), (1, 3), (0, 3), (1, 2)]
    even = Exchanger(flights, 4)
    now, least = even.objective()
    assert now == least
    assert even.anneal([(0, 1), (2, 3)], rng) == flights
    assert rng.random() == untouched.random()


@pytest.mark.parametrize(
    ("total", "cells", "least"), [(0, 0, 0), (6, 3, 12), (7, 3, 17), (8, 3, 22), (2, 5, 2)]
)
def test_the_evenest_spread_of_whole_numbers(total: int, cells: int, least: int) -> None:
    assert spread(total, cells) == least


def test_an_exchange_changes_the_objective_as_it_says() -> None:
    flights = [(0, 1, 2), (3, 4, 5), (0, 3, 4), (1, 2, 5)]
    for turns in ([0, 1, 0, 1], [0, 0, 0, 0], [1, 0, 0, 1]):
        for a, x, b, y in ((0, 0, 1, 3), (0, 2, 2, 4), (2, 0, 3, 5)):
            made = Exchanger(flights, 6, turns)
            before, said = made.objective()[0], made.change(a, x, b, y)
            made.trade(a, x, b, y)
            assert made.objective()[0] - before == said
            again = Exchanger([tuple(flight) for flight in made.flights], 6, turns)
            assert (again.meets, again.comes) == (made.meets, made.comes)


def test_the_log_says_whether_a_draft_was_replaced(house: Store, fixed_now: datetime) -> None:
    for _ in range(2):
        with house.write() as db:
            plan_session(db, plan(), now=fixed_now, by="L1")
    with house.read() as db:
        bodies = [json.loads(body or "{}") for body in db.scalars(select(LogEntry.body_json))]
    told = [body for body in bodies if body.get("action") == "session planned"]
    assert [body["replaces_draft"] for body in told] == [False, True]


@pytest.mark.parametrize(
    ("bottle_abv", "taken"), [(None, 30.0), (20.0, 30.0), (20.1, 30.0 * 20.0 / 20.1), (60.0, 10.0)]
)
def test_what_a_glass_takes_out_of_the_bottle(bottle_abv: float | None, taken: float) -> None:
    assert Poured("EV1", 30.0, 20.0).from_bottle(bottle_abv) == pytest.approx(taken)


def test_what_is_left_is_never_below_nothing() -> None:
    assert Volume(None, 5.0).left_ml is None
    assert Volume(5.0, 5.0).left_ml == 0.0
    assert Volume(5.0, 9.0).left_ml == 0.0
    # A draw that is said to be reduced to more than it had has not shrunk.
    assert volume_of(100.0, 20.0, 40.0).left_ml == 100.0


def test_grams_at_the_ends() -> None:
    assert ethanol_grams(0.0, 60.0) == 0.0
    assert ethanol_grams(10.0, 100.0) == pytest.approx(10.0 * ETHANOL_GRAMS_A_ML)
    for volume, abv in ((-0.1, 60.0), (10.0, 100.1), (10.0, -0.1), (float("nan"), 60.0)):
        with pytest.raises(DoseError):
            ethanol_grams(volume, abv)
    # The caps as they are written down: common practice, no source but for the unit of 8 g.
    caps = DoseLimits()
    assert (caps.session_grams, caps.day_grams, caps.spat_share) == (8.0, 16.0, 0.2)
    assert (caps.session_swallowed_grams, caps.day_swallowed_grams) == (24.0, 32.0)


FILLED, GAUGED = date(2012, 5, 1), date(2020, 5, 1)
GAUGES = (Gauge(FILLED, 190.0, 63.0), Gauge(GAUGED, 150.0, 60.0))


def state_of(*added: Added) -> Any:
    def content(on: date) -> Any:
        return content_on(GAUGES, (), added, on)

    return cast(
        Any,
        SimpleNamespace(gauges=GAUGES, added=added, filled_on=FILLED, content_on=content),
    )


@pytest.mark.parametrize(
    ("drawn_on", "on", "abv", "source", "old"),
    [
        (date(2020, 4, 30), date(2020, 4, 30), 63.0, "at filling", True),
        (GAUGED, date(2023, 5, 1), 60.0, "regauge", False),
        (GAUGED, date(2023, 5, 2), 60.0, "regauge", True),
        (date(2012, 5, 1), date(2015, 5, 1), 63.0, "at filling", False),
    ],
)
def test_the_strength_of_a_draw_is_that_of_the_last_gauge(
    drawn_on: date, on: date, abv: float, source: str, old: bool
) -> None:
    found = strength_in_cask(state_of(), drawn_on, on, 3.0)
    assert (found.abv_percent, found.source, found.old) == (abv, source, old)


@pytest.mark.parametrize(
    ("topped_on", "source"),
    [
        (GAUGED, "regauge"),
        (date(2020, 5, 2), "reckoned after the topping"),
        (date(2021, 5, 1), "reckoned after the topping"),
        (date(2021, 5, 2), "regauge"),
    ],
)
def test_a_topping_counts_from_its_day_and_after_the_gauge(topped_on: date, source: str) -> None:
    topping = Added(topped_on, 50.0, 40.0, None)
    found = strength_in_cask(state_of(topping), date(2021, 5, 1), date(2021, 5, 1), 3.0)
    assert found.source == source
    assert found.abv_percent == (60.0 if source == "regauge" else 55.0)
    unknown = strength_in_cask(
        state_of(replace(topping, abv=None)), date(2021, 5, 1), date(2021, 5, 1), 3.0
    )
    assert unknown.old is (source != "regauge")
