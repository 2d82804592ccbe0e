"""People: new ones, their PINs, their roles and their leaving; what is kept, given out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import EntriesAtFault, OakpanelError, UnknownRecord
from panel.kinds import Role
from panel.records.consents import refuse_without_consent
from panel.records.deed import deed
from panel.store.guard_rows import forget_guard
from panel.store.log import append_entry
from panel.store.owning import PIN_RECOVERED, refuse_stranger
from panel.store.passes import end_passes
from panel.store.people import Person, PersonName, PersonRole
from panel.store.person_record import Record, person_record
from panel.store.pins import hash_pin, pin_fault
from panel.store.who import UNNAMED, has_role, person_by_code, refuse_last_lead
from panel.store.word_text import name_fault

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from panel.store.engine import Store


def add_person(
    db: Session,
    code: str,
    roles: Sequence[str],
    *,
    joined_on: date | None = None,
    name: str | None = None,
    now: datetime,
    by: str | None,
) -> tuple[str, ...]:
    """Record a new person; return the roles.

    Raises
    ------
    UnknownRecord
        There is no such role.
    EntriesAtFault
        The code is empty, or is somebody's already; code or name hold a sign that shows nothing.
    NotAllowed
        Whoever acts does not lead.
    """
    given = list(dict.fromkeys(read_role(role) for role in roles))
    with deed(db, "person added", now=now, by=by) as done:
        if faults := _faults(db, code, name):
            raise EntriesAtFault(faults)
        person = Person(code=code, joined_on=joined_on)
        person.roles = [PersonRole(role=role) for role in given]
        if name:
            person.name = PersonName(full_name=name)
        db.add(person)
        db.flush()
        held = tuple(role.value for role in given)
        done.details.update(person=code, roles=list(held))
    return held


def _faults(db: Session, code: str, name: str | None) -> dict[str, str]:
    """Return what is wrong with a new person, by entry."""
    faults = {}
    taken = db.scalar(select(Person.id).where(Person.code == code)) is not None
    known = f"There is a person of the code {code!r} already; take another code."
    if fault := code_fault(code) or (known if taken else None):
        faults["code"] = fault
    if name and (wrong := name_fault(name)):
        faults["name"] = f"The name {wrong}."
    return faults


def code_fault(code: str) -> str | None:
    """Return why a text cannot be a person's code, or None."""
    if not code or code != code.strip():
        return f"{code!r} cannot be a code: no blanks around it, and not empty."
    if wrong := name_fault(code):
        return f"{code!r} cannot be a code: it {wrong}."
    return None


def set_pin(db: Session, code: str, pin: str, *, now: datetime, by: str | None) -> None:
    """Give a person a PIN, and forget the wrong ones tried before.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; or whoever acts does not lead.
    OakpanelError
        The PIN is not 4 to 12 digits, or easily guessed.
    """
    with deed(db, "PIN set", now=now, by=by) as done:
        if fault := pin_fault(pin):
            raise OakpanelError(fault)
        _set_hash(db, person_by_code(db, code), hash_pin(pin))
        done.details.update(person=code)


def recover_pin(store: Store, code: str, pin: str, *, at: datetime) -> None:
    """Give a person a PIN past the leads: whoever owns the database may, and the log tells it.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; or whoever asks does not own the database.
    OakpanelError
        The PIN is not 4 to 12 digits, or easily guessed.
    """
    refuse_stranger(store)
    if fault := pin_fault(pin):
        raise OakpanelError(fault)
    hashed = hash_pin(pin)
    with store.write() as db:
        _set_hash(db, person_by_code(db, code), hashed)
        append_entry(db, at=at, by=UNNAMED, action=PIN_RECOVERED, details={"person": code})


def set_first_pins(
    db: Session, hashes: Mapping[str, str], *, now: datetime, by: str | None = None
) -> None:
    """Give several people a PIN at once, each hashed already (see `panel.store.pins`).

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of a code; or whoever acts does not lead.
    """
    with deed(db, "PIN set", now=now, by=by) as done:
        for code, hashed in hashes.items():
            _set_hash(db, person_by_code(db, code), hashed)
        done.details.update(people=list(hashes))


def _set_hash(db: Session, person: Person, hashed: str) -> None:
    person.pin_hash = hashed
    end_passes(db, person=person)
    forget_guard(db, person)


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


def change_roles(
    db: Session, code: str, changes: Sequence[str], *, now: datetime, by: str | None
) -> tuple[str, ...]:
    """Give (`+lead`) and take (`-lead`) roles of a person; return those held then.

    Raises
    ------
    UnknownRecord, OakpanelError, NotAllowed
        No such person or role, a change without + or -, the house would lose its only lead, an
        assessor has withdrawn their consent, or whoever acts does not lead.
    """
    with deed(db, "roles changed", now=now, by=by) as done:
        person = person_by_code(db, code)
        for change in changes:
            _change(db, person, change)
        db.flush()
        held = tuple(kept.role.value for kept in person.roles)
        done.details.update(person=code, roles=list(held))
    return held


def _change(db: Session, person: Person, change: str) -> None:
    if change[:1] not in {"+", "-"}:
        raise OakpanelError(f"Write +{change} to give the role, or -{change} to take it.")
    sign, role = change[:1], read_role(change[1:])
    if sign == "+" and role is Role.ASSESSOR:
        refuse_without_consent(db, person)
    if sign == "+" and not has_role(person, role):
        person.roles.append(PersonRole(role=role))
    elif sign == "-":
        _take(db, person, role)


def _take(db: Session, person: Person, role: Role) -> None:
    if role is Role.LEAD:
        refuse_last_lead(db, person)
    person.roles = [held for held in person.roles if held.role is not role]


def record_leaving(db: Session, code: str, left_on: date, *, now: datetime, by: str | None) -> None:
    """Record the day from which a person is no longer there; their scores stay.

    Raises
    ------
    UnknownRecord, OakpanelError, NotAllowed
        No such person, a day before they joined, they are the only lead, or whoever acts does
        not lead.
    """
    with deed(db, "person left", now=now, by=by) as done:
        person = person_by_code(db, code)
        if person.joined_on is not None and left_on < person.joined_on:
            raise OakpanelError(f"{code} joined on {person.joined_on}; {left_on} is before that.")
        refuse_last_lead(db, person)
        person.left_on = left_on
        end_passes(db, person=person)
        db.flush()
        done.details.update(person=code, left_on=left_on.isoformat())


def give_out_private(db: Session, code: str, *, now: datetime, by: str | None) -> Record:
    """Return all that is kept about a person, what is close to their health too.

    Whoever calls has the lead's PIN proved first (`panel.records.proving`).

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; or whoever acts does not lead.
    """
    with deed(db, "private record given out", now=now, by=by) as done:
        done.details.update(person=code)
        return person_record(db, code, private=True, on=done.on)
