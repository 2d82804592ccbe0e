"""What a filling is as of a date."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields
from datetime import date

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.bars import FillingFacts, status_of
from panel.frames.bars import facts_of, state_bars
from panel.kinds import EventKind
from panel.store.casks import Filling
from panel.store.contents import Gauge, strength_on
from panel.store.engine import Store
from panel.store.filling_states import FillingState, filling_states
from tests.houses.parts import add_draw, add_event, add_filling, add_make, add_regauge

AS_OF = date(2022, 5, 1)


def only_state(store: Store, as_of: date = AS_OF, label: str = "0101/1") -> FillingState:
    with store.read() as db:
        return next(state for state in filling_states(db, as_of) if state.label == label)


def word(state: FillingState) -> str:
    return status_of(state_bars(state)).value


def test_states_and_facts_are_made_with_every_field(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", add_make(db))
    state = only_state(store)
    facts = facts_of(state)
    assert state == FillingState(**{each.name: vars(state)[each.name] for each in fields(state)})
    assert facts == FillingFacts(**{each.name: vars(facts)[each.name] for each in fields(facts)})
    assert set(vars(state)) == {each.name for each in fields(state)}
    assert set(vars(facts)) == {each.name for each in fields(facts)}
    with pytest.raises(FrozenInstanceError):
        state.abv = 1.0  # type: ignore[misc]


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


TOPPED_ON = date(2018, 5, 1)


def topped_house(store: Store, *, from_young: bool, abv: float | None = None) -> None:
    """Fill 0101 in 2012, 0102 in 2016; top the first in 2018 with 10 L."""
    with store.write() as db:
        old = add_filling(db, "0101", add_make(db, "smoky", 40.0), fill_abv=60.0)
        young = add_filling(
            db, "0102", add_make(db, "plain", 1.0), filled_on=date(2016, 5, 1), fill_abv=63.0
        )
        parent = young if from_young else None
        add_event(db, old, EventKind.TOPPED, TOPPED_ON, parent=parent, litres=10.0, abv=abv)


def test_a_cask_topped_with_younger_spirit_has_the_age_of_that(store: Store) -> None:
    topped_house(store, from_young=True)
    assert only_state(store).age_years == 2 + 4  # two years in 0102, four since
    assert only_state(store, date(2018, 4, 30)).age_years == pytest.approx(6, abs=0.01)


def test_a_cask_topped_with_older_spirit_keeps_its_own_age(store: Store) -> None:
    with store.write() as db:
        old = add_filling(db, "0101", add_make(db))
        young = add_filling(db, "0102", add_make(db, "plain"), filled_on=date(2016, 5, 1))
        add_event(db, young, EventKind.TOPPED, TOPPED_ON, parent=old, litres=10.0)
    assert only_state(store, label="0102/1").age_years == 6


def test_topping_mixes_litres_strength_and_phenols_and_takes_from_the_parent(store: Store) -> None:
    topped_house(store, from_young=True)
    state = only_state(store)
    assert state.bulk_l == 200
    assert state.lpa == pytest.approx(190 * 0.60 + 10 * 0.63)
    assert state.abv == pytest.approx(60.15)
    assert state.phenol_ppm == pytest.approx((190 * 0.6 * 40 + 10 * 0.63 * 1) / 120.3)
    assert state.inherited.makes == frozenset({"smoky", "plain"})
    assert only_state(store, label="0102/1").bulk_l == 180


def test_phenols_are_weighed_by_what_was_left_when_it_was_topped(store: Store) -> None:
    topped_house(store, from_young=True)
    with store.write() as db:
        add_regauge(db, stored(db), date(2018, 1, 1), 100.0, 58.0)
    lpa = 100 * 0.58 + 10 * 0.63
    found = only_state(store)
    assert found.lpa == pytest.approx(lpa)
    assert found.phenol_ppm == pytest.approx((58 * 40 + 6.3 * 1) / lpa)


def test_a_regauge_after_the_topping_counts_alone(store: Store) -> None:
    topped_house(store, from_young=True)
    with store.write() as db:
        add_regauge(db, stored(db), date(2019, 1, 1), 190.0, 59.5)
    state = only_state(store)
    assert (state.bulk_l, state.abv, state.abv_certain) == (190.0, 59.5, True)


def test_topped_with_spirit_of_no_record_has_no_age_and_no_phenols(store: Store) -> None:
    topped_house(store, from_young=False, abv=63.0)
    state = only_state(store)
    assert (state.age_years, state.phenol_ppm, state.inherited.makes) == (None, None, None)
    assert state.abv == pytest.approx(60.15)  # the strength was measured
    assert state.abv_certain


def test_topped_at_no_recorded_strength_is_not_gauged(store: Store) -> None:
    topped_house(store, from_young=False)
    state = only_state(store)
    assert not state.abv_certain
    assert [barred.bar.value for barred in state_bars(state)] == ["litres or strength not recorded"]


def test_a_re_rack_of_a_cask_without_age_has_none_either(store: Store) -> None:
    topped_house(store, from_young=False, abv=63.0)
    day = date(2020, 5, 1)
    with store.write() as db:
        child = add_filling(db, "0200", None, filled_on=day, fill_bulk_l=190.0, fill_abv=60.0)
        add_event(db, child, EventKind.RE_RACKED, day, parent=stored(db), litres=190.0)
    assert only_state(store, label="0200/1").age_years is None


def test_two_casks_that_top_each_other_in_turn(store: Store) -> None:
    topped_house(store, from_young=True)
    with store.write() as db:
        young = db.scalars(select(Filling).where(Filling.label == "0102/1")).one()
        add_event(db, young, EventKind.TOPPED, date(2020, 5, 1), parent=stored(db), litres=5.0)
    assert only_state(store).age_years == 6
    assert only_state(store, label="0102/1").age_years == 6
