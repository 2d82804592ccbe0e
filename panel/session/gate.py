"""Who may come in: leads with a PIN are asked for it; without any PIN the desk says so."""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import BoothError
from panel.kinds import Role
from panel.store.house import read_setting, writes_commas
from panel.store.log import append_entry
from panel.store.owning import recovered_pins
from panel.store.people import Person
from panel.store.pin_guard import NO_PIN as NO_PIN_HASH
from panel.store.pin_guard import settle_try
from panel.store.pins import check_pin
from panel.store.who import acting_person, people_with

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.engine import URL
    from sqlalchemy.orm import Session

    from panel.store.engine import Store

NO_PIN = (
    "Nobody who leads has a PIN, so that anybody at this machine may sit here. "
    "Set one: 5 People, {code}, Give a PIN."
)
NO_LEAD = "Nobody leads yet; give somebody the role: 5 People, j changes roles."


@dataclass(frozen=True)
class Gate:
    """What has to be asked before the desk opens, and what is known already."""

    leads: tuple[str, ...]
    with_pin: frozenset[str]
    by: str | None
    zone: str
    base: str
    greeting: str
    comma: bool = False
    """Whether the house writes decimals with a comma."""

    @property
    def asks(self) -> bool:
        """Tell whether somebody has to say who they are."""
        return bool(self.with_pin) or (self.by is None and len(self.leads) > 1)


def read_gate(store: Store, by: str | None, *, now: datetime) -> Gate:
    """Return who leads, who of them has a PIN, and the house's time zone.

    All tables are known afterwards. Pages read in threads of their own: the first query of one
    would settle tables of which another has half a module.
    """
    import_module("panel.store.tables")
    with store.read() as db:
        leads = people_with(db, Role.LEAD)
        gate = _gate(db, leads, by, base_name(store.url))
        return replace(gate, greeting=" ".join([gate.greeting, *_recovered(db, now)]).strip())


def _gate(db: Session, leads: list[Person], by: str | None, base: str) -> Gate:
    codes = tuple(person.code for person in leads)
    with_pin = frozenset(person.code for person in leads if person.pin_hash is not None)
    if by is None and len(codes) == 1 and not with_pin:
        by = codes[0]
    zone, name = (str(read_setting(db, each)) for each in ("time_zone", "house_name"))
    greeting = _greet(codes, with_pin)
    return Gate(codes, with_pin, by, zone, name or base, greeting, writes_commas(db))


def _recovered(db: Session, now: datetime) -> list[str]:
    """Say whose PIN was given past the leads of late."""
    return [
        f"{each.code} got a PIN past the leads on {each.at:%Y-%m-%d}, by who owns the database."
        for each in recovered_pins(db, now=now)
    ]


def _greet(codes: tuple[str, ...], with_pin: frozenset[str]) -> str:
    if not codes:
        return NO_LEAD
    return "" if with_pin else NO_PIN.format(code=codes[0])


def base_name(url: URL) -> str:
    """Return a short name of the database."""
    if url.get_backend_name() == "sqlite":
        return Path(url.database or "").name
    return f"{url.database} on {url.host}"


def let_in(store: Store, code: str, pin: str, *, now: datetime) -> None:
    """Check a lead's code and PIN; a wrong try is kept although the door stays shut.

    Raises
    ------
    SignInRefused, SignInWaits
        They do not go together; too many wrong tries.
    NotAllowed
        The person does not lead.
    """
    with store.read() as db:
        pins_are_used = any(person.pin_hash for person in people_with(db, Role.LEAD))
        stored = db.scalar(select(Person.pin_hash).where(Person.code == code))
        if not pins_are_used:
            acting_person(db, code, Role.LEAD)
            return
    right = check_pin(pin, stored or NO_PIN_HASH) and stored is not None
    with store.write() as db:
        refusal = _count(db, code, right, now)
        if refusal is None:
            acting_person(db, code, Role.LEAD)
    if refusal is not None:
        raise refusal


LOOKED = "private facts shown"


def note_looked(db: Session, code: str | None, *, now: datetime, about: str) -> None:
    """Log that a lead, who has proved it, looked at something close to a person's health."""
    lead = acting_person(db, code, Role.LEAD)
    append_entry(db, at=now, by=lead.code, action=LOOKED, details={"of": about})


def _count(
    db: Session,
    code: str,
    right: bool,
    now: datetime,
) -> BoothError | None:
    person = db.scalar(select(Person).where(Person.code == code))
    refusal = settle_try(db, code, person, right=right, now=now)
    if refusal is None:
        append_entry(db, at=now, by=code, action="desk signed in", details={})
    return refusal
