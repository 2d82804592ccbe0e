"""Who acts: a person by their code, and whether they have the role that a deed needs."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import NotAllowed, UnknownRecord
from panel.kinds import Role
from panel.store.finding import nearest_words
from panel.store.people import Person, PersonRole

NAMED_AT_MOST = 12
UNNAMED = "-"
"""Stands in the log for whoever set the house up before it had a lead."""


def person_by_code(db: Session, code: str) -> Person:
    """Return the person of that code, or say who comes nearest."""
    person = db.scalar(select(Person).where(Person.code == code))
    if person is None:
        raise UnknownRecord(f"There is nobody of the code {code!r}.{_nearest(db, code)}")
    return person


def has_role(person: Person, role: Role) -> bool:
    """Say whether a person has a role."""
    return any(held.role is role for held in person.roles)


def people_with(db: Session, role: Role, on: date | None = None) -> list[Person]:
    """Return who has a role, by code; with a date, without those who have left by then."""
    asked = select(Person).join(PersonRole).where(PersonRole.role == role).order_by(Person.code)
    return [person for person in db.scalars(asked) if not _has_left(person, on)]


def acting_person(db: Session, by: str | None, role: Role, *, on: date | None = None) -> Person:
    """Return who acts: the person of code *by*, else the only one who has the role.

    Raises
    ------
    UnknownRecord
        There is nobody of that code.
    NotAllowed
        That person lacks the role or has left; or several (or none) have it and none was named.
    """
    if by is None:
        return _only_one(people_with(db, role, on), role)
    person = person_by_code(db, by)
    if not has_role(person, role):
        raise NotAllowed(f"{by} does not have the role {role.value!r}.{_choices(db, role, on)}")
    if _has_left(person, on):
        raise NotAllowed(f"{by} left on {person.left_on}.{_choices(db, role, on)}")
    return person


def lead_code(db: Session, by: str | None, *, on: date | None = None) -> str:
    """Return the code of the lead who acts; raises as `acting_person`."""
    return acting_person(db, by, Role.LEAD, on=on).code


def lead_or_first(db: Session, by: str | None, *, on: date | None = None) -> str:
    """Return the code of the lead who acts; a house that has no lead yet may do it unnamed.

    Raises
    ------
    UnknownRecord, NotAllowed
        There are leads, and the one who acts is none of them or was not named.
    """
    if people_with(db, Role.LEAD, on):
        return lead_code(db, by, on=on)
    return UNNAMED if by is None else person_by_code(db, by).code


def printing_person(db: Session, by: str | None, *, on: date) -> Person:
    """Return who prints the sheets: a lead, or a pourer who is named; raises as `acting_person`.

    Where nobody is named it is the lead, as everywhere: nobody is taken for a pourer unasked.
    """
    pours = by is not None and not has_role(person_by_code(db, by), Role.LEAD)
    return acting_person(db, by, Role.POURER if pours else Role.LEAD, on=on)


SIGNERS = (Role.LEAD, Role.BLENDER)
"""Who signs a release."""


def signing_person(db: Session, by: str | None, *, on: date) -> Person:
    """Return who signs a release: somebody named, a lead or a blender, who is still there.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; nobody was named; they are neither, or have left.
    """
    if by is None:
        raise NotAllowed("Say who signs with --by CODE: it takes a second person.")
    person = person_by_code(db, by)
    if not any(has_role(person, role) for role in SIGNERS):
        raise NotAllowed(f"{by} is neither lead nor blender and cannot sign a release.")
    if _has_left(person, on):
        raise NotAllowed(f"{by} left on {person.left_on} and cannot sign a release.")
    return person


def refuse_last_lead(db: Session, person: Person) -> None:
    """Raise NotAllowed where a house would be left without a lead who stays."""
    leads = [lead.code for lead in people_with(db, Role.LEAD) if lead.left_on is None]
    if leads == [person.code]:
        raise NotAllowed(
            f"{person.code} is the only lead. Make somebody else lead first: "
            "`oakpanel people role CODE +lead`."
        )


def _has_left(person: Person, on: date | None) -> bool:
    return person.left_on is not None and (on is None or person.left_on <= on)


def _only_one(people: list[Person], role: Role) -> Person:
    if len(people) == 1:
        return people[0]
    if not people:
        raise NotAllowed(
            f"Nobody has the role {role.value!r} yet. Give it with "
            f"`oakpanel people role CODE +{role.value}`."
        )
    raise NotAllowed(
        f"{len(people)} people have the role {role.value!r}: {_listed(people)}. "
        "Say who you are with --by CODE (or OAKPANEL_BY)."
    )


def _choices(db: Session, role: Role, on: date | None) -> str:
    people = people_with(db, role, on)
    if people:
        return f" These have: {_listed(people)}."
    return f" Nobody has; give it with `oakpanel people role CODE +{role.value}`."


def _listed(people: list[Person]) -> str:
    codes = [person.code for person in people]
    more = len(codes) - NAMED_AT_MOST
    return ", ".join(codes[:NAMED_AT_MOST]) + (f" and {more} more" if more > 0 else "")


def _nearest(db: Session, code: str) -> str:
    codes = list(db.scalars(select(Person.code)))
    if near := nearest_words(code, codes):
        return near
    return " `oakpanel people list` shows who there is." if codes else " Nobody is recorded yet."
