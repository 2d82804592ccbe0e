"""A plan says what agreement will ask of it, by agreement's own settings."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from analysis.agreement import AgreementSettings
from panel.kinds import SessionKind
from panel.session.plan import plan_session
from panel.session.plan_parts import AUTO
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reveal_session
from panel.store.engine import Store
from panel.store.people import Person
from panel.store.training import Training
from tests.houses.to_plan import CODES, HELD_ON, build_to_plan, plan

ASKS = AgreementSettings()
SAYS = "agreement will say 'too little yet'"


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    return store


def said(house: Store, now: datetime, **changes: object) -> str:
    with house.write() as db:
        found = plan_session(db, plan(**changes), now=now, by="L1").warnings
    return " ".join(each for each in found if each.startswith(SAYS))


def test_samples_and_duplicates_that_lack_are_counted(house: Store, fixed_now: datetime) -> None:
    few = said(house, fixed_now, draws=("D1", "D2", "D3", "D4"), duplicates=())
    assert f"{ASKS.least_samples} samples in the session, where 4 are planned" in few
    assert f"{ASKS.least_duplicates} blind duplicates, where none are planned and 0 stood" in few
    one = said(house, fixed_now)
    assert "samples in the session" not in one
    assert "blind duplicates, where 1 is planned" in one
    assert not said(house, fixed_now, duplicates=(AUTO, AUTO))
    assert not said(house, fixed_now, replicates=2)


def test_duplicates_of_the_last_sessions_count_note_by_note(
    house: Store, fixed_now: datetime
) -> None:
    before = {"name": "before", "held_on": HELD_ON - timedelta(days=7), "warm_up": None}
    with house.write() as db:
        plan_session(db, plan(**before, descriptors=("wet slate",)), now=fixed_now, by="L1")
    for step in (seal_session, open_session, close_session, reveal_session):
        with house.write() as db:
            step(db, "before", now=fixed_now, by="L1")
    assert not said(house, fixed_now, descriptors=("wet slate",))
    assert "0 stood in the last 5 sessions" in said(
        house, fixed_now, descriptors=("wet slate", "bonfire")
    )


def test_nothing_is_asked_of_an_exercise_or_of_other_kinds(
    house: Store, fixed_now: datetime
) -> None:
    few = {"draws": ("D1", "D2"), "duplicates": ()}
    own = {"kind": SessionKind.OWN_WORDS, "descriptors": (), **few}
    assert not said(house, fixed_now, **own)
    with house.write() as db:
        for person in db.query(Person).filter(Person.code == CODES[0]):
            db.add(Training(person_id=person.id, begun_on=HELD_ON - timedelta(days=1)))
    assert not said(house, fixed_now, assessors=(CODES[0],), **few)
    assert said(house, fixed_now, assessors=CODES[:2], **few)
