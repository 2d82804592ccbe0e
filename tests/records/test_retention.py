"""What is close to a person is kept for its time and no longer, and some of it nowhere."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta

from sqlalchemy import select, update

from analysis.as_json import as_json
from panel.kinds import SessionStatus
from panel.records.retention import drop_what_is_past
from panel.session.showing import session_view
from panel.store.engine import Store
from panel.store.people import Person
from panel.store.retention import people_past
from panel.store.sessions import SessionAssessor
from panel.store.tables import METADATA
from tests.houses.small import add_house

HELD_ON = date(2026, 3, 14)


def test_a_mark_is_dropped_from_the_day_on_that_is_past_its_time(
    store: Store, fixed_now: datetime
) -> None:
    with store.write() as db:
        add_house(db, fixed_now)
    assert drop_what_is_past(store, now=fixed_now + timedelta(days=30)) == 0
    assert drop_what_is_past(store, now=fixed_now + timedelta(days=31)) == 2
    assert drop_what_is_past(store, now=fixed_now + timedelta(days=31)) == 0
    with store.read() as db:
        assert not any(db.scalars(select(SessionAssessor.not_at_best)))


def test_who_left_long_ago_is_listed_and_whoever_is_erased_is_not(
    store: Store, fixed_now: datetime
) -> None:
    with store.write() as db:
        add_house(db, fixed_now)
        db.execute(update(Person).where(Person.code == "A2").values(left_on=date(2024, 3, 1)))
    with store.read() as db:
        assert people_past(db, date(2026, 2, 28)) == {}
        assert list(people_past(db, HELD_ON)) == ["A2"]
    with store.write() as db:
        db.execute(update(Person).where(Person.code == "A2").values(code="gone-1a2b3c"))
    with store.read() as db:
        assert people_past(db, HELD_ON) == {}


def test_grams_of_ethanol_are_kept_nowhere_and_told_of_no_session_that_was_held(
    store: Store, fixed_now: datetime
) -> None:
    names = [column.name for table in METADATA.tables.values() for column in table.columns]
    assert not [name for name in names if "gram" in name or "ethanol" in name or "dose" in name]
    with store.write() as db:
        add_house(db, fixed_now, SessionStatus.REVEALED)
    with store.read() as db:
        told = json.dumps(as_json(session_view(db, "EV1")), default=str)
    assert "gram" not in told
    assert "ethanol" not in told
