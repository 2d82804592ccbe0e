"""New people, their roles, and their leaving."""

from __future__ import annotations

from datetime import date

import pytest

from analysis.as_json import as_json
from panel.errors import NotAllowed, OakpanelError, UnknownRecord
from panel.kinds import Role
from panel.store.engine import Store
from panel.store.people_queries import (
    add_person,
    change_roles,
    people_lines,
    read_role,
    record_leaving,
)

TODAY = date(2026, 3, 14)


def test_the_list_shows_who_is_there_without_names(store: Store) -> None:
    with store.read() as db:
        add_person(db, "M1", [Role.LEAD, Role.ASSESSOR, Role.LEAD], name="Maren Oakes")
        add_person(db, "A2", [Role.ASSESSOR], joined_on=date(2020, 5, 1))
        record_leaving(db, "A2", TODAY)
        assert [line.code for line in people_lines(db, on=TODAY)] == ["M1"]
        lines = people_lines(db, on=TODAY, everybody=True)
        assert as_json(lines[0]) == {
            "code": "A2",
            "roles": ["assessor"],
            "has_pin": False,
            "joined_on": "2020-05-01",
            "left_on": TODAY.isoformat(),
        }
        assert set(lines[1].roles) == {"lead", "assessor"}
        assert "Maren" not in str(lines)


@pytest.mark.parametrize("code", ["", " ", " A2", "A2 "])
def test_a_code_has_no_blanks_around_it(store: Store, code: str) -> None:
    with store.read() as db, pytest.raises(OakpanelError, match="cannot be a code"):
        add_person(db, code, [Role.ASSESSOR])


def test_a_code_is_given_once(store: Store) -> None:
    with store.read() as db:
        add_person(db, "[/x]", [Role.ASSESSOR])
        with pytest.raises(OakpanelError, match=r"a person of the code '\[/x\]' already"):
            add_person(db, "[/x]", [Role.LEAD])


def test_roles_are_given_and_taken(store: Store) -> None:
    with store.read() as db:
        add_person(db, "M1", [Role.ASSESSOR])
        changed = change_roles(db, "M1", ["+lead", "+Pourer", "-assessor", "+lead"])
        assert {held.role for held in changed.roles} == {Role.LEAD, Role.POURER}


def test_a_role_that_is_none_is_told_which_there_are(store: Store) -> None:
    with store.read() as db:
        add_person(db, "M1", [Role.ASSESSOR])
        with pytest.raises(UnknownRecord, match="lead, pourer, assessor, blender"):
            change_roles(db, "M1", ["+boss"])
        with pytest.raises(OakpanelError, match=r"Write \+lead to give the role"):
            change_roles(db, "M1", ["lead"])
    assert read_role(" Lead ") is Role.LEAD


def test_a_house_keeps_a_lead(store: Store) -> None:
    with store.read() as db:
        add_person(db, "M1", [Role.LEAD])
        with pytest.raises(NotAllowed, match="only lead"):
            change_roles(db, "M1", ["-lead"])
        with pytest.raises(NotAllowed, match="only lead"):
            record_leaving(db, "M1", TODAY)


def test_nobody_leaves_before_joining(store: Store) -> None:
    with store.read() as db:
        add_person(db, "A2", [Role.ASSESSOR], joined_on=date(2025, 5, 1))
        with pytest.raises(OakpanelError, match="joined on 2025-05-01; 2025-04-30 is before"):
            record_leaving(db, "A2", date(2025, 4, 30))
