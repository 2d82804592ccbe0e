"""The list of people, new ones, their roles and their leaving."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import OakpanelError, UnknownRecord
from panel.kinds import Role
from panel.store.people import Person, PersonName, PersonRole
from panel.store.who import has_role, person_by_code, refuse_last_lead


@dataclass(frozen=True)
class PersonLine:
    """A person as the list shows them: no name, no PIN."""

    code: str
    roles: tuple[str, ...]
    has_pin: bool
    joined_on: date | None
    left_on: date | None


def people_lines(db: Session, *, on: date, everybody: bool = False) -> list[PersonLine]:
    """Return who is there on a date, or *everybody* ever recorded, by code."""
    people = db.scalars(select(Person).order_by(Person.code))
    return [
        PersonLine(
            person.code,
            tuple(held.role.value for held in person.roles),
            person.pin_hash is not None,
            person.joined_on,
            person.left_on,
        )
        for person in people
        if everybody or person.left_on is None or person.left_on > on
    ]


def read_role(word: str) -> Role:
    """Return the role that a word names.

    Raises
    ------
    UnknownRecord
        There is no such role.
    """
    try:
        return Role(word.strip().lower())
    except ValueError:
        roles = ", ".join(role.value for role in Role)
        raise UnknownRecord(f"There is no role {word!r}. There are: {roles}.") from None


def add_person(
    db: Session,
    code: str,
    roles: Sequence[Role],
    *,
    joined_on: date | None = None,
    name: str | None = None,
) -> Person:
    """Record a new person.

    Raises
    ------
    OakpanelError
        The code is empty, or is somebody's already.
    """
    if not code or code != code.strip():
        raise OakpanelError(f"{code!r} cannot be a code: no blanks around it, and not empty.")
    if db.scalar(select(Person.id).where(Person.code == code)) is not None:
        raise OakpanelError(f"There is a person of the code {code!r} already; take another code.")
    person = Person(code=code, joined_on=joined_on)
    person.roles = [PersonRole(role=role) for role in dict.fromkeys(roles)]
    if name:
        person.name = PersonName(full_name=name)
    db.add(person)
    db.flush()
    return person


def change_roles(db: Session, code: str, changes: Sequence[str]) -> Person:
    """Give (`+lead`) and take (`-lead`) roles of a person.

    Raises
    ------
    UnknownRecord, OakpanelError, NotAllowed
        No such person or role, a change without + or -, or the house would lose its only lead.
    """
    person = person_by_code(db, code)
    for change in changes:
        if change[:1] not in {"+", "-"}:
            raise OakpanelError(f"Write +{change} to give the role, or -{change} to take it.")
        sign, role = change[:1], read_role(change[1:])
        if sign == "+" and not has_role(person, role):
            person.roles.append(PersonRole(role=role))
        elif sign == "-":
            _take(db, person, role)
    db.flush()
    return person


def _take(db: Session, person: Person, role: Role) -> None:
    if role is Role.LEAD:
        refuse_last_lead(db, person)
    person.roles = [held for held in person.roles if held.role is not role]


def record_leaving(db: Session, code: str, left_on: date) -> Person:
    """Record the day from which a person is no longer there; their scores stay.

    Raises
    ------
    UnknownRecord, OakpanelError, NotAllowed
        No such person, a day before they joined, or they are the only lead.
    """
    person = person_by_code(db, code)
    if person.joined_on is not None and left_on < person.joined_on:
        raise OakpanelError(f"{code} joined on {person.joined_on}; {left_on} is before that.")
    refuse_last_lead(db, person)
    person.left_on = left_on
    db.flush()
    return person
