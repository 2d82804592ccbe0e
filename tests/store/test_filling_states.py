"""What a filling is as of a date."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.bars import status_of
from panel.frames.bars import state_bars
from panel.kinds import EventKind
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.filling_states import FillingState, Gauge, filling_states, strength_on
from tests.houses.parts import add_draw, add_event, add_filling, add_make, add_regauge

AS_OF = date(2022, 5, 1)


def only_state(store: Store, as_of: date = AS_OF, label: str = "0101/1") -> FillingState:
    with store.read() as db:
        return next(state for state in filling_states(db, as_of) if state.label == label)


def word(state: FillingState) -> str:
    return status_of(state_bars(state)).value


def stored(db: Session) -> Filling:
    return db.scalars(select(Filling).where(Filling.label == "0101/1")).one()


def test_litres_are_the_last_gauge_less_what_was_taken_since(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2018, 5, 1), 170.0, 60.2)
        add_draw(db, "early", filling, drawn_on=date(2017, 1, 1), volume_ml=500.0)
        add_draw(db, "late", filling, drawn_on=date(2020, 1, 1), volume_ml=700.0)
    state = only_state(store)
    assert state.bulk_l == pytest.approx(169.3)
    assert state.abv == 60.2
    assert state.lpa == pytest.approx(169.3 * 0.602)
    assert state.gauge_age_years == 4
    assert state.age_years == 10


def test_as_of_looks_no_further(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2018, 5, 1), 170.0, 60.2)
        add_event(db, filling, EventKind.EMPTIED, date(2020, 1, 1))
    before = only_state(store, date(2017, 5, 1))
    assert (before.bulk_l, word(before)) == (190.0, "filled")
    after = only_state(store)
    assert (after.bulk_l, word(after)) == (0.0, "emptied")
    assert after.age_years == pytest.approx(7.67, abs=0.01)  # the clock stopped in 2020


def test_a_filling_not_begun_is_not_there(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", add_make(db))
    with store.read() as db:
        assert filling_states(db, date(2012, 4, 30)) == []


def test_leak_hold_reserve_and_owner_in_the_order_of_their_weight(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_event(db, filling, EventKind.RESERVED, date(2019, 1, 1), litres=50.0)
    assert word(only_state(store)) == "reserved"
    with store.write() as db:
        filling = stored(db)
        filling.hold_reason = "mould on two noses"
        filling.hold_until = date(2022, 12, 31)
    assert word(only_state(store)) == "on hold"
    assert word(only_state(store, date(2023, 1, 1))) == "reserved"
    with store.write() as db:
        add_event(db, stored(db), EventKind.LEAK_FOUND, date(2021, 1, 1))
    assert word(only_state(store)) == "leaking"
    with store.write() as db:
        add_event(db, stored(db), EventKind.REPAIRED, date(2021, 2, 1))
        add_event(db, stored(db), EventKind.FREED, date(2021, 3, 1))
    assert word(only_state(store, date(2023, 1, 1))) == "filled"


def test_moving_within_a_warehouse_keeps_it(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_event(db, filling, EventKind.MOVED, date(2019, 1, 1), warehouse="High Store")
    assert only_state(store, date(2018, 1, 1)).place.words() == "Low Store"
    assert only_state(store).place.words() == "High Store"


def test_a_re_rack_takes_from_the_parent_and_gives_age_and_phenols(store: Store) -> None:
    day = date(2020, 5, 1)
    with store.write() as db:
        smoky = add_filling(db, "0101", add_make(db, "smoky", 40.0))
        plain = add_filling(db, "0102", add_make(db, "plain", 1.0), filled_on=date(2015, 5, 1))
        child = add_filling(db, "0200", None, filled_on=day, fill_bulk_l=120.0, fill_abv=60.0)
        add_event(db, child, EventKind.RE_RACKED, day, parent=smoky, litres=80.0, abv=60.0)
        add_event(db, child, EventKind.RE_RACKED, day, parent=plain, litres=40.0, abv=60.0)
    state = only_state(store, label="0200/1")
    assert state.years_before == 5  # the youngest parent
    assert state.age_years == 7
    assert state.phenol_ppm == pytest.approx((80 * 40 + 40 * 1) / 120)
    assert only_state(store).bulk_l == pytest.approx(190 - 80)


def test_strength_between_gauges_is_a_straight_line() -> None:
    gauges = [Gauge(date(2020, 1, 1), 200, 62.0), Gauge(date(2020, 1, 11), 190, 61.0)]
    assert strength_on(gauges, date(2020, 1, 6)) == pytest.approx(61.5)
    assert strength_on(gauges, date(2019, 1, 1)) == 62.0
    assert strength_on(gauges, date(2030, 1, 1)) == 61.0
    with pytest.raises(ValueError, match="no gauge"):
        strength_on([], date(2020, 1, 1))
