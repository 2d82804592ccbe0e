"""People: codes, roles and dates; a real name only where a file has it. PINs never."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Annotated

from pydantic import BeforeValidator, model_validator
from sqlalchemy import select
from sqlalchemy.orm import selectinload

from panel.intake.cells import Day, Name, OptionalName, RowModel, fault, read_text
from panel.intake.columns import Columns
from panel.intake.load import Load, RowOutcome, change, fetch, refuse_twins
from panel.kinds import Role
from panel.store.people import Person, PersonName, PersonRole

COLUMNS = Columns(required=("assessor",), optional=("roles", "joined_on", "left_on", "name"))
NO_ROLE = "none"
ROLES = (
    f"roles are {', '.join(Role)}, or {NO_ROLE}; several are joined by +, such as "
    f"{Role.LEAD}+{Role.ASSESSOR}"
)


def read_roles(text: str | None) -> frozenset[Role]:
    """Return the roles of a cell, joined by `+`; assessor for an empty one, `none` for no role."""
    cell = read_text(text)
    if cell is None:
        return frozenset({Role.ASSESSOR})
    if cell.casefold() == NO_ROLE:
        return frozenset()
    parts = [part.strip().casefold() for part in cell.split("+")]
    if not set(parts) <= set(Role):
        raise fault(ROLES + _meant(cell))
    return frozenset(Role(part) for part in parts)


def _meant(cell: str) -> str:
    """Return what a cell may mean whose roles are joined by another sign, or misspelt."""
    words = [word for word in re.split(r"[\s,;/&+|]+|\band\b", cell.casefold()) if word]
    near = [get_close_matches(word, list(Role), n=1, cutoff=0.6) for word in words]
    return f"; nearest: {'+'.join(each[0] for each in near)}" if all(near) and near else ""


class AssessorRow(RowModel):
    """One person."""

    assessor: Name
    roles: Annotated[frozenset[Role], BeforeValidator(read_roles)] = frozenset({Role.ASSESSOR})
    joined_on: Day = None
    left_on: Day = None
    name: OptionalName = None

    @model_validator(mode="after")
    def _in_order(self) -> AssessorRow:
        if self.joined_on and self.left_on and self.left_on < self.joined_on:
            raise fault(f"left before joining on {self.joined_on}", column="left_on")
        return self


def take_assessors(load: Load, rows: Sequence[AssessorRow]) -> None:
    """Add people and bring known ones up to date."""
    refuse_twins(load, rows, lambda row: row.assessor, "assessor", lambda key: f"assessor {key}")
    found = select(Person).options(selectinload(Person.roles), selectinload(Person.name))
    codes = {row.assessor for row in rows}
    known = {person.code: person for person in fetch(load.db, found, Person.code, codes)}
    for row in load.going(rows):
        load.count(_take(load, row, known))


def _take(load: Load, row: AssessorRow, known: dict[str, Person]) -> RowOutcome:
    values = load.present(
        {"joined_on": ("joined_on", row.joined_on), "left_on": ("left_on", row.left_on)}
    )
    person = known.get(row.assessor)
    if person is None:
        person = known[row.assessor] = Person(code=row.assessor, roles=[], name=None, **values)
        load.db.add(person)
        _change_roles(person, row.roles)
        _change_name(load, person, row.name)
        return RowOutcome.NEW
    changed = change(person, values)
    if "roles" in load.headings:
        changed = _change_roles(person, row.roles) or changed
    changed = _change_name(load, person, row.name) or changed
    return RowOutcome.CHANGED if changed else RowOutcome.UNCHANGED


def _change_roles(person: Person, roles: frozenset[Role]) -> bool:
    before = {held.role: held for held in person.roles}
    if before.keys() == roles:
        return False
    for role, held in before.items():
        if role not in roles:
            person.roles.remove(held)
    for role in sorted(roles - before.keys()):
        person.roles.append(PersonRole(role=role))
    return True


def _change_name(load: Load, person: Person, name: str | None) -> bool:
    before = person.name.full_name if person.name else None
    if "name" not in load.headings or before == name:
        return False
    if name is None:
        person.name = None
    elif person.name is None:
        person.name = PersonName(full_name=name)
    else:
        person.name.full_name = name
    return True
