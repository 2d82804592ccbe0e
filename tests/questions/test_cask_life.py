"""A cask's life on one page."""

from __future__ import annotations

from datetime import date

import pytest

from panel.errors import UnknownRecord
from panel.kinds import EventKind
from panel.questions.cask_life import cask_life, cask_lines
from panel.store.casks import Cask, Filling
from panel.store.engine import Store
from tests.houses.parts import add_draw, add_event, add_filling, add_make, add_regauge

AS_OF = date(2022, 5, 1)


def test_everything_that_happened_in_order_of_date(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2018, 5, 1), 170.0, 60.2, note="bung swollen")
        add_event(db, filling, EventKind.MOVED, date(2015, 1, 1), warehouse="High Store")
        add_draw(db, "D7", filling, drawn_on=date(2020, 1, 1), volume_ml=700.0)
    with store.read() as db:
        life = cask_life(db, "0101", AS_OF)
    assert [entry.kind for entry in life.entries] == ["filled", "moved", "regauged", "drawn"]
    assert life.entries[2].words == "170 L at 60.2 %, dipped (bung swollen)"
    assert life.today is not None
    assert any("4.0 years old" in flag for flag in life.flags)


def test_a_leak_shows_between_its_gauges_once_draws_are_put_back(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2014, 5, 1), 183.0, 62.8)
        add_regauge(db, filling, date(2016, 5, 1), 140.0, 62.0)
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert any("2014-05-01 to 2016-05-01" in flag and "leak" in flag for flag in flags)
    with store.write() as db:
        add_draw(
            db, "big", db.get(Filling, filling.id), drawn_on=date(2015, 5, 1), volume_ml=36_000.0
        )
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert not any("look for a leak" in flag for flag in flags)


def test_nobody_looks_for_a_leak_that_was_repaired(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2014, 5, 1), 183.0, 62.8)
        add_regauge(db, filling, date(2016, 5, 1), 140.0, 62.0)
        add_event(db, filling, EventKind.LEAK_FOUND, date(2016, 5, 2))
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert any("look for a leak" in flag for flag in flags)
    with store.write() as db:
        there = db.get_one(Filling, filling.id)
        add_event(db, there, EventKind.REPAIRED, date(2016, 6, 1))
        add_regauge(db, there, date(2018, 5, 1), 137.0, 61.0)
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert not any("look for a leak" in flag for flag in flags)
    assert any("2014-05-01 to 2016-05-01" in f and "was repaired since" in f for f in flags)
    with store.write() as db:
        add_regauge(db, db.get_one(Filling, filling.id), date(2020, 5, 1), 100.0, 60.0)
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert any("2018-05-01 to 2020-05-01" in f and "look for a leak" in f for f in flags)


def test_more_taken_than_was_in_it_is_said_not_hidden(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_draw(db, "huge", filling, drawn_on=date(2015, 5, 1), volume_ml=900_000.0)
        add_regauge(db, filling, date(2016, 5, 1), 140.0, 62.0)
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert any("do not fit together" in flag for flag in flags)


def test_a_filling_without_make_or_parents_is_flagged(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", None)
    with store.read() as db:
        assert any("origin unknown" in flag for flag in cask_life(db, "0101", AS_OF).flags)


def test_an_unknown_cask_names_the_nearest(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", add_make(db))
    with store.read() as db, pytest.raises(UnknownRecord, match=r"'0110'.*0101"):
        cask_life(db, "0110", AS_OF)


def test_the_list_has_empty_casks_too(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", add_make(db))
        db.add(Cask(number="[/x]", wood="oak", size_l=50.0))
    with store.read() as db:
        lines = cask_lines(db, AS_OF)
    assert [(line.number, line.state is None) for line in lines] == [
        ("0101", False),
        ("[/x]", True),
    ]
