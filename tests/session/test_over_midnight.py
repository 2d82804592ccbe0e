"""A tasting that runs over midnight: the glasses after it are of the new day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import select

from panel.errors import SessionError
from panel.kinds import Manner
from panel.records.settings import change_setting
from panel.session.care import other_dose_that_day
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store.engine import Store
from panel.store.people import Person
from panel.store.sessions import Serving
from tests.houses.to_plan import plan

EVENING = date(2026, 3, 20)
MIDNIGHT = datetime(2026, 3, 21, 0, 0, tzinfo=UTC)
TASTED = {"manner": Manner.TASTE, "draws": ("D1", "D2", "D3"), "assessors": ("A1",)}


def taste(house: Store, name: str, held_on: date, now: datetime) -> None:
    with house.write() as db:
        asked = plan(**TASTED, name=name, held_on=held_on, warm_up=None, pour_ml=15.0)
        plan_session(db, asked, now=now, by="L1")
        seal_session(db, name, now=now, by="L1")


@pytest.fixture
def late(house: Store, fixed_now: datetime) -> Store:
    """Five glasses, two of them taken up before midnight in UTC and three after."""
    with house.write() as db:
        change_setting(db, "time_zone", "UTC", now=fixed_now, by="L1")
    taste(house, "evening", EVENING, fixed_now)
    with house.write() as db:
        open_session(db, "evening", now=fixed_now, by="L1")
        for glass in db.scalars(select(Serving)):
            assert glass.position is not None
            glass.taken_at = MIDNIGHT + timedelta(minutes=10 * (glass.position - 3) + 5)
    return house


def test_glasses_taken_up_after_midnight_count_for_the_new_day(late: Store) -> None:
    with late.read() as db:
        who = db.scalars(select(Person.id).where(Person.code == "A1")).one()
        whole = other_dose_that_day(db, who, EVENING, "").swallowed_grams
        after = other_dose_that_day(db, who, EVENING + timedelta(days=1), "").swallowed_grams
        later = other_dose_that_day(db, who, EVENING + timedelta(days=2), "").swallowed_grams
    assert after == pytest.approx(whole * 3 / 5)
    assert later == 0.0


def test_a_tasting_of_the_next_day_is_held_against_them(late: Store, fixed_now: datetime) -> None:
    taste(late, "morning", EVENING + timedelta(days=3), fixed_now)
    with late.write() as db:
        change_setting(db, "dose_day_g", "3.0", now=fixed_now, by="L1")
    with late.write() as db, pytest.raises(SessionError, match="house's cap"):
        open_session(db, "morning", now=fixed_now, by="L1", held_on=EVENING + timedelta(days=1))
