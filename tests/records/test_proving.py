"""A pass on a file and on a server; who may give a PIN past the leads; what erasure takes along."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from panel.errors import NotAllowed, SignInRefused
from panel.kinds import Role, SessionStatus
from panel.records.acts import Act
from panel.records.erase import erase_person
from panel.records.people import recover_pin, set_pin
from panel.records.proving import Asked, Wants, asked_of, lock, prove
from panel.store.booth_role import make_booth_role
from panel.store.engine import Store
from panel.store.examine import Level, examine
from panel.store.opening import open_store
from panel.store.passes import HourPass
from tests.houses.parts import person
from tests.houses.pins import PIN, give_pins
from tests.houses.small import add_house


@pytest.fixture(params=["file", "server"])
def house(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    named = "store" if request.param == "file" else "postgres_store"
    found: Store = request.getfixturevalue(named)
    with found.write() as db:
        db.add(person("LD", Role.LEAD))
        db.add(person("L2", Role.LEAD))
    give_pins(found)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("OAKPANEL_STATE", str(tmp_path / "state"))
        yield found


def asked(house: Store, act: Act, now: datetime, by: str = "LD") -> Asked:
    return asked_of(house, act, by, now=now)


def test_a_pass_is_given_for_an_hour_and_locked(house: Store, fixed_now: datetime) -> None:
    wanted = asked(house, Act.SEAL, fixed_now)
    assert wanted == Asked(Act.SEAL, "LD", Wants.PIN)
    with pytest.raises(SignInRefused):
        prove(house, wanted, "9999", now=fixed_now, keep_pass=True)
    assert asked(house, Act.SEAL, fixed_now).wants is Wants.PIN
    prove(house, wanted, PIN, now=fixed_now, keep_pass=True)
    last = fixed_now + timedelta(minutes=59, seconds=59)
    assert asked(house, Act.SEAL, last).wants is Wants.NOTHING
    assert asked(house, Act.SEAL, last + timedelta(seconds=1)).wants is Wants.PIN
    assert asked(house, Act.SEAL, last, by="L2").wants is Wants.PIN
    assert lock(house, now=fixed_now) == 1
    assert asked(house, Act.SEAL, fixed_now).wants is Wants.PIN


@pytest.mark.parametrize("act", [act for act in Act if not act.pass_is_enough], ids=str)
def test_some_acts_never_take_one(house: Store, fixed_now: datetime, act: Act) -> None:
    prove(house, asked(house, Act.SEAL, fixed_now), PIN, now=fixed_now, keep_pass=True)
    assert asked(house, act, fixed_now).wants is Wants.PIN
    prove(house, asked(house, act, fixed_now), PIN, now=fixed_now, keep_pass=True)
    with house.read() as db:
        assert db.query(HourPass).count() == 1, "nor is one given for them"


def test_what_never_takes_a_pass_is_what_the_house_decided() -> None:
    assert {act for act in Act if not act.pass_is_enough} == {
        *(Act.SIGN, Act.ERASE, Act.RESTORE, Act.ROLES, Act.PINS, Act.KEY_SHEET),
        Act.PRIVATE,
    }


def test_the_log_vouches_for_passes(house: Store, fixed_now: datetime) -> None:
    prove(house, asked(house, Act.SEAL, fixed_now), PIN, now=fixed_now, keep_pass=True)
    assert examine(house).worst is not Level.FAULT
    with house.engine.begin() as db:
        db.exec_driver_sql("UPDATE hour_pass SET ends_at = '2036-01-01 00:00:00'")
    found = [finding for finding in examine(house).findings if finding.level is Level.FAULT]
    assert any("hour_pass" in finding.words for finding in found)


def test_an_account_keeps_one_pass(house: Store, fixed_now: datetime) -> None:
    for by in ("LD", "L2"):
        wanted = asked(house, Act.SEAL, fixed_now, by=by)
        prove(house, wanted, PIN, now=fixed_now, keep_pass=True)
    assert asked(house, Act.SEAL, fixed_now).wants is Wants.PIN
    with house.read() as db:
        assert db.query(HourPass).count() == 1


def test_whose_the_database_is_gives_a_pin_past_the_leads(
    house: Store, fixed_now: datetime
) -> None:
    recover_pin(house, "LD", "8642", at=fixed_now)
    prove(house, asked(house, Act.SIGN, fixed_now), "8642", now=fixed_now)


def test_a_booths_own_user_gives_none(postgres_store: Store, fixed_now: datetime) -> None:
    with postgres_store.write() as db:
        db.add(person("LD", Role.LEAD))
    booths = open_store(make_booth_role(postgres_store, "booth_of_pins", new_password=True).url)
    with pytest.raises(NotAllowed, match="Only who owns the database"):
        recover_pin(booths, "LD", "8642", at=fixed_now)
    booths.close()
    with postgres_store.write() as db:
        db.connection().exec_driver_sql("DROP OWNED BY booth_of_pins")
        db.connection().exec_driver_sql("DROP ROLE booth_of_pins")


def test_erasure_takes_passes_and_hands_along(store: Store, fixed_now: datetime) -> None:
    with store.write() as db:
        add_house(db, fixed_now, SessionStatus.REVEALED)
        db.add(person("L2", Role.LEAD))
    with store.write() as db:
        set_pin(db, "M1", PIN, now=fixed_now, by="M1")
    prove(store, asked(store, Act.SEAL, fixed_now, by="M1"), PIN, now=fixed_now, keep_pass=True)
    with store.write() as db:
        erase_person(db, "M1", keep_scores=True, now=fixed_now, by="L2")
    with store.read() as db:
        assert db.query(HourPass).count() == 0
