"""Who acts: by name, or because only one can have been meant."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy.orm import Session

from panel.errors import NotAllowed, UnknownRecord
from panel.kinds import Role
from panel.store.engine import Store
from panel.store.people import Person, PersonRole
from panel.store.who import (
    acting_person,
    lead_or_first,
    person_by_code,
    printing_person,
    refuse_last_lead,
)


def add(db: Session, code: str, *roles: Role, left_on: date | None = None) -> Person:
    person = Person(code=code, left_on=left_on)
    person.roles = [PersonRole(role=role) for role in roles]
    db.add(person)
    db.flush()
    return person


def test_the_only_lead_needs_no_name(store: Store) -> None:
    with store.read() as db:
        add(db, "M1", Role.LEAD)
        add(db, "A2", Role.ASSESSOR)
        assert acting_person(db, None, Role.LEAD).code == "M1"
        assert acting_person(db, "M1", Role.LEAD).code == "M1"


def test_of_several_one_must_be_named(store: Store) -> None:
    with store.read() as db:
        for number in range(1, 15):
            add(db, f"M{number:02d}", Role.LEAD)
        with pytest.raises(NotAllowed, match=r"14 people .* M01, .*, M12 and 2 more\. Say who"):
            acting_person(db, None, Role.LEAD)
        assert acting_person(db, "M14", Role.LEAD).code == "M14"


def test_a_person_without_the_role_is_told_who_has_it(store: Store) -> None:
    with store.read() as db:
        add(db, "A2", Role.ASSESSOR)
        with pytest.raises(
            NotAllowed, match=r"A2 does not have the role 'lead'\. Nobody has; give"
        ):
            acting_person(db, "A2", Role.LEAD)
        add(db, "M1", Role.LEAD)
        with pytest.raises(NotAllowed, match=r"These have: M1\."):
            acting_person(db, "A2", Role.LEAD)


def test_nobody_of_that_code_names_the_nearest(store: Store) -> None:
    with store.read() as db:
        with pytest.raises(UnknownRecord, match="Nobody is recorded yet"):
            person_by_code(db, "M1")
        add(db, "MAREN", Role.LEAD)
        with pytest.raises(UnknownRecord, match=r"nobody of the code 'MAREM'\. Nearest: MAREN\."):
            acting_person(db, "MAREM", Role.LEAD)


def test_who_has_left_no_longer_acts(store: Store) -> None:
    with store.read() as db:
        add(db, "M1", Role.LEAD, left_on=date(2026, 3, 1))
        add(db, "M2", Role.LEAD)
        assert acting_person(db, None, Role.LEAD, on=date(2026, 3, 14)).code == "M2"
        with pytest.raises(NotAllowed, match="M1 left on 2026-03-01"):
            acting_person(db, "M1", Role.LEAD, on=date(2026, 3, 14))
        assert acting_person(db, "M1", Role.LEAD, on=date(2026, 2, 28)).code == "M1"


def test_a_house_without_a_lead_may_be_set_up_by_anybody(store: Store) -> None:
    with store.read() as db:
        assert lead_or_first(db, None) == "-"
        add(db, "A2", Role.ASSESSOR)
        assert lead_or_first(db, "A2") == "A2"
        add(db, "M1", Role.LEAD)
        assert lead_or_first(db, None) == "M1"
        with pytest.raises(NotAllowed):
            lead_or_first(db, "A2")


def test_the_only_lead_stays(store: Store) -> None:
    with store.read() as db:
        first = add(db, "M1", Role.LEAD)
        with pytest.raises(NotAllowed, match="only lead"):
            refuse_last_lead(db, first)
        add(db, "M2", Role.LEAD)
        refuse_last_lead(db, first)


def test_who_prints_unnamed_is_the_lead_as_everywhere(store: Store) -> None:
    """The PIN of somebody nobody named is not asked, nor a wrong one counted against them."""
    on = date(2026, 3, 1)
    with store.read() as db:
        add(db, "P1", Role.POURER)
        with pytest.raises(NotAllowed, match="Nobody has the role 'lead'"):
            printing_person(db, None, on=on)
        add(db, "M1", Role.LEAD)
        assert printing_person(db, None, on=on).code == "M1"
        assert printing_person(db, "P1", on=on).code == "P1"
        add(db, "M2", Role.LEAD)
        with pytest.raises(NotAllowed, match=r"M1, M2\. Say who you are"):
            printing_person(db, None, on=on)
