"""People: new ones, their PINs, their roles, and their leaving."""

from __future__ import annotations

from datetime import date, datetime
from typing import TypedDict

import pytest

from analysis.as_json import as_json
from panel.errors import NotAllowed, OakpanelError, UnknownRecord
from panel.kinds import Role
from panel.questions.people import people_lines
from panel.records.people import (
    add_person,
    change_roles,
    read_role,
    record_leaving,
    set_pin,
)
from panel.store.engine import Store
from panel.store.people import Person, SignInGuard
from panel.store.pins import check_pin
from tests.conftest import FIXED_NOW

TODAY = date(2026, 3, 14)


class By(TypedDict):
    now: datetime
    by: str | None


BY: By = {"now": FIXED_NOW, "by": None}


def test_the_list_shows_who_is_there_without_names(store: Store) -> None:
    with store.read() as db:
        add_person(
            db, "M1", ["lead", "assessor", "lead"], name="Maren Oakes", now=FIXED_NOW, by=None
        )
        add_person(db, "A2", ["assessor"], joined_on=date(2020, 5, 1), **BY)
        record_leaving(db, "A2", TODAY, **BY)
        assert [line.code for line in people_lines(db, there_on=TODAY)] == ["M1"]
        lines = people_lines(db)
        assert as_json(lines[0]) == {
            "code": "A2",
            "roles": ["assessor"],
            "has_pin": False,
            "joined_on": "2020-05-01",
            "left_on": TODAY.isoformat(),
            "consent": None,
            "kept_too_long_reason": None,
            "in_training_since": None,
        }
        assert set(lines[1].roles) == {"lead", "assessor"}
        assert "Maren" not in str(lines)


@pytest.mark.parametrize("code", ["", " ", " A2", "A2 "])
def test_a_code_has_no_blanks_around_it(store: Store, code: str) -> None:
    with store.read() as db, pytest.raises(OakpanelError, match="cannot be a code"):
        add_person(db, code, ["assessor"], **BY)


def test_no_code_or_name_holds_a_sign_that_nobody_sees(store: Store) -> None:
    for code, name in (("Row\u200dan", None), ("Rowan", "Rowan \u202eWeir")):
        with store.read() as db, pytest.raises(OakpanelError, match=r"cannot be seen \(U\+20"):
            add_person(db, code, ["lead"], name=name, **BY)


def test_a_code_is_given_once(store: Store) -> None:
    with store.read() as db:
        add_person(db, "[/x]", ["assessor"], **BY)
        with pytest.raises(OakpanelError, match=r"a person of the code '\[/x\]' already"):
            add_person(db, "[/x]", ["lead"], **BY)


def test_roles_are_given_and_taken(store: Store) -> None:
    with store.read() as db:
        add_person(db, "M1", ["assessor"], **BY)
        changed = change_roles(
            db, "M1", ["+lead", "+Pourer", "-assessor", "+lead"], now=FIXED_NOW, by=None
        )
        assert set(changed) == {"lead", "pourer"}


def test_a_role_that_is_none_is_told_which_there_are(store: Store) -> None:
    with store.read() as db:
        add_person(db, "M1", ["assessor"], **BY)
        with pytest.raises(UnknownRecord, match="lead, pourer, assessor, blender"):
            change_roles(db, "M1", ["+boss"], **BY)
        with pytest.raises(OakpanelError, match=r"Write \+lead to give the role"):
            change_roles(db, "M1", ["lead"], **BY)
    assert read_role(" Lead ") is Role.LEAD


def test_a_house_keeps_a_lead(store: Store) -> None:
    with store.read() as db:
        add_person(db, "M1", ["lead"], **BY)
        with pytest.raises(NotAllowed, match="only lead"):
            change_roles(db, "M1", ["-lead"], **BY)
        with pytest.raises(NotAllowed, match="only lead"):
            record_leaving(db, "M1", TODAY, **BY)


def test_the_last_lead_who_stays_does_not_leave(store: Store) -> None:
    with store.read() as db:
        for code in ("M1", "M2"):
            add_person(db, code, ["lead"], now=BY["now"], by=None if code == "M1" else "M1")
        record_leaving(db, "M2", TODAY, now=BY["now"], by="M1")
        with pytest.raises(NotAllowed, match="only lead"):
            record_leaving(db, "M1", TODAY, now=BY["now"], by="M1")


def test_nobody_leaves_before_joining(store: Store) -> None:
    with store.read() as db:
        add_person(db, "A2", ["assessor"], joined_on=date(2025, 5, 1), **BY)
        with pytest.raises(OakpanelError, match="joined on 2025-05-01; 2025-04-30 is before"):
            record_leaving(db, "A2", date(2025, 4, 30), **BY)


def test_setting_a_pin_forgets_the_wrong_ones(store: Store, fixed_now: datetime) -> None:
    with store.write() as db:
        person = Person(code="A2")
        db.add(person)
        db.flush()
        db.add(SignInGuard(person_id=person.id, failures=5, failed_at=fixed_now, wait_s=60))
    with store.write() as db:
        set_pin(db, "A2", "2486", **BY)
    with store.read() as db:
        kept = db.get(Person, person.id)
        assert kept is not None
        assert check_pin("2486", kept.pin_hash or "")
        assert db.get(SignInGuard, person.id) is None


def test_a_pin_for_nobody_and_a_weak_one_change_nothing(store: Store) -> None:
    with store.read() as db:
        with pytest.raises(UnknownRecord, match="nobody of the code 'A3'"):
            set_pin(db, "A3", "2486", **BY)
        with pytest.raises(OakpanelError, match="easily guessed"):
            set_pin(db, "A3", "1234", **BY)
