"""Who acts proves it before an act that binds: by their PIN, or by a pass of within the hour."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto
from typing import TYPE_CHECKING

from panel.errors import NotAllowed
from panel.kinds import Role
from panel.records.acts import Act, doer_of
from panel.records.people import set_pin
from panel.store.house import today_at_site
from panel.store.log import append_entry
from panel.store.passes import drop_pass, end_passes, give_pass, holds_pass
from panel.store.pin_guard import prove_pin
from panel.store.who import UNNAMED, has_role, people_with, person_by_code

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from panel.store.engine import Store
    from panel.store.people import Person


class Wants(Enum):
    """What somebody has to give before they may act."""

    NOTHING = auto()
    PIN = auto()
    NEW_PIN = auto()


@dataclass(frozen=True)
class Asked:
    """An act, the code of who does it, and what they have to give first.

    Nobody's code where a house that nobody leads yet is set up without a name.
    """

    act: Act
    code: str | None
    wants: Wants

    @property
    def question(self) -> str:
        """What to ask for."""
        if self.wants is Wants.NEW_PIN:
            return f"{self.code} leads and has no PIN yet; a new one"
        return f"PIN of {self.code}"


def asked_of(
    store: Store,
    act: Act,
    by: str | None,
    *,
    now: datetime,
    about: str | None = None,
) -> Asked:
    """Return what has to be given before *act*; *about* is the person whom it is about, if any.

    Raises
    ------
    UnknownRecord, NotAllowed
        They may not do it, whoever they are; or have no PIN, and a lead has to give them one.
    """
    with store.read() as db:
        on = today_at_site(db, now)
        person = doer_of(db, act, by, on=on, about=about)
        if person is None:
            return Asked(act, by, Wants.NOTHING)
        if act.pass_is_enough and holds_pass(db, store.url, person, now=now):
            return Asked(act, person.code, Wants.NOTHING)
        return Asked(act, person.code, _wants(db, act, person, about=about, on=on))


def _wants(db: Session, act: Act, person: Person, *, about: str | None, on: date) -> Wants:
    if person.pin_hash is not None:
        return Wants.PIN
    # Whoever came first could take the name of a lead who never typed a PIN where others have one.
    pinless = not any(lead.pin_hash for lead in people_with(db, Role.LEAD, on))
    if act is Act.PRIVATE or not (pinless and has_role(person, Role.LEAD)):
        raise NotAllowed(
            f"{person.code} has no PIN yet; a lead gives one: `oakpanel people pin {person.code}`."
        )
    gives_own = act is Act.PINS and person.code == about
    return Wants.NOTHING if gives_own else Wants.NEW_PIN


def prove(store: Store, asked: Asked, pin: str, *, now: datetime, keep_pass: bool = False) -> None:
    """Check the PIN of who acts, or take it as their first one.

    With *keep_pass* this account need not ask again for an hour what a pass is enough for.

    Raises
    ------
    OakpanelError
        It is to be the first one, and is not 4 to 12 digits, or easily guessed.
    SignInRefused, SignInWaits
        It is wrong, which counts; too many wrong tries.
    """
    if asked.code is None or asked.wants is Wants.NOTHING:
        return
    if asked.wants is Wants.NEW_PIN:
        with store.write() as db:
            set_pin(db, asked.code, pin, now=now, by=asked.code)
    else:
        prove_pin(store, asked.code, pin, now=now)
    if keep_pass and asked.act.pass_is_enough:
        with store.write() as db:
            if give_pass(db, store.url, person_by_code(db, asked.code), now=now):
                append_entry(db, at=now, by=asked.code, action="pass given", details={})


def lock(store: Store, code: str | None = None, *, now: datetime) -> int:
    """End the pass of this account, and with a code every pass of that person; count them.

    Raises
    ------
    UnknownRecord
        There is nobody of that code.
    """
    return end_pass(store, drop_pass(store.url), code, now=now)


def end_pass(store: Store, held: bytes | None, code: str | None = None, *, now: datetime) -> int:
    """Take back a pass that an account held, and with a code every pass of that person."""
    with store.write() as db:
        person = None if code is None else person_by_code(db, code)
        ended = end_passes(db, now=now, person=person, held=held)
        if ended:
            details = {} if code is None else {"person": code}
            append_entry(db, at=now, by=UNNAMED, action="passes ended", details=details)
    return ended
