"""Ages from re-racking and topping alone are those of the whole stock's states."""

from __future__ import annotations

from datetime import date

import pytest

from panel.kinds import EventKind
from panel.store.drawn_ages import ages_inherited
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from tests.houses.parts import add_event, add_filling, add_make

RACKED_ON, TOPPED_ON = date(2020, 5, 1), date(2018, 5, 1)
DAYS = [date(2011, 1, 1), date(2018, 4, 30), TOPPED_ON, date(2021, 8, 9), date(2044, 2, 29)]


@pytest.fixture
def racked_and_topped(store: Store) -> Store:
    """Four fillings of 2012 and 2016: one topped by a younger, one by nobody knows what."""
    with store.write() as db:
        old = add_filling(db, "0101", add_make(db, "smoky", 40.0))
        young = add_filling(db, "0102", add_make(db, "plain", 1.0), filled_on=date(2016, 5, 1))
        unknown = add_filling(db, "0103", add_make(db, "sweet"))
        child = add_filling(db, "0200", None, filled_on=RACKED_ON, fill_bulk_l=90.0)
        add_event(db, old, EventKind.TOPPED, TOPPED_ON, parent=young, litres=10.0)
        add_event(db, unknown, EventKind.TOPPED, TOPPED_ON, litres=10.0)
        add_event(db, child, EventKind.RE_RACKED, RACKED_ON, parent=old, litres=60.0)
        add_event(db, child, EventKind.RE_RACKED, RACKED_ON, parent=young, litres=30.0)
    return store


def test_ages_are_those_of_the_states(racked_and_topped: Store) -> None:
    with racked_and_topped.read() as db:
        states = filling_states(db, date(9998, 12, 31))
        found = ages_inherited(db, [s.filling_id for s in states])
        wanted = {s.filling_id: s.inherited for s in states}
    assert set(found) == set(wanted)
    ages = {(k, day): one.age_on(day) for k, one in found.items() for day in DAYS}
    assert ages == {(k, day): one.age_on(day) for k, one in wanted.items() for day in DAYS}
    assert None in ages.values()
    assert len({age for age in ages.values() if age is not None}) > len(DAYS)


def test_of_one_filling_those_before_it_are_told_and_no_other(racked_and_topped: Store) -> None:
    with racked_and_topped.read() as db:
        states = {s.cask: s.filling_id for s in filling_states(db, date(9998, 12, 31))}
        every = ages_inherited(db, states.values())
        child, topped = (ages_inherited(db, [states[cask]]) for cask in ("0200", "0101"))
    assert set(child) == {states[cask] for cask in ("0200", "0101", "0102")}
    assert set(topped) == {states[cask] for cask in ("0101", "0102")}
    assert child == {k: every[k] for k in child}
