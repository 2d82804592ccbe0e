"""Planning as last time: all that is the same again, and nothing that would tell."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from panel.kinds import SessionKind
from panel.records.people import record_leaving
from panel.session.last_time import like_last_time
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.store.engine import Store
from tests.houses.to_plan import CODES, HELD_ON, plan


@pytest.fixture
def planned(house: Store, fixed_now: datetime) -> Store:
    with house.write() as db:
        wanted = plan(pause_s=75, pour_ml=15.0, reference="D9", codes_per_assessor=True)
        plan_session(db, wanted, now=fixed_now, by="L1")
        seal_session(db, wanted.name, now=fixed_now, by="L1")
    return house


def test_it_is_the_same_but_for_name_day_and_draws(planned: Store) -> None:
    with planned.read() as db:
        last = like_last_time(db, SessionKind.PROFILE, on=HELD_ON)
    assert last is not None
    assert last.session == plan().name
    again = last.plan
    assert (again.name, again.held_on, again.draws, again.seed) == ("", None, (), None)
    assert (again.pause_s, again.pour_ml, again.reference) == (75, 15.0, "D9")
    assert again.codes_per_assessor
    assert again.assessors == plan().assessors
    assert again.duplicates == ("auto",)


def test_who_has_left_is_not_asked_again(planned: Store, fixed_now: datetime) -> None:
    gone = plan().assessors[0]
    with planned.write() as db:
        record_leaving(db, gone, HELD_ON, now=fixed_now, by="L1")
    with planned.read() as db:
        again = like_last_time(db, SessionKind.PROFILE, on=HELD_ON)
    assert again is not None
    assert gone in CODES
    assert gone not in again.plan.assessors


def test_there_is_no_last_time_of_a_kind_never_held(planned: Store, fixed_now: datetime) -> None:
    with planned.write() as db:
        plan_session(db, plan(name="a draft", held_on=date(2027, 1, 1)), now=fixed_now, by="L1")
    with planned.read() as db:
        assert like_last_time(db, SessionKind.OWN_WORDS, on=HELD_ON) is None
        assert like_last_time(db, SessionKind.PROFILE, on=HELD_ON) is not None


def test_a_rehearsal_is_not_last_time_where_another_was_held(
    planned: Store, fixed_now: datetime
) -> None:
    with planned.write() as db:
        tried = plan(name="try-out", held_on=HELD_ON + timedelta(days=3), seed=4)
        plan_session(db, tried, now=fixed_now, by="L1")
        seal_session(db, tried.name, now=fixed_now, by="L1")
    with planned.read() as db:
        last = like_last_time(db, SessionKind.PROFILE, on=HELD_ON)
    assert last is not None
    assert last.session == plan().name
