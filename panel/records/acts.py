"""The acts that bind: who may do each, and whether a pass is enough to prove who it is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto
from typing import TYPE_CHECKING

from panel.kinds import Role
from panel.store.who import (
    acting_person,
    people_with,
    person_by_code,
    printing_person,
    signing_person,
)

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from panel.store.people import Person


class Doer(Enum):
    """Who does an act."""

    LEAD = auto()
    LEAD_IF_ANY = auto()
    """In a house that nobody leads yet whoever sets it up: there is nothing to prove."""
    THEMSELVES = auto()
    """The person whom it is about, else as before."""
    BLENDER = auto()
    PRINTER = auto()
    SIGNER = auto()


@dataclass(frozen=True)
class Binding:
    """What an act is called, who does it, and whether the PIN of within the hour is enough."""

    words: str
    doer: Doer
    pass_is_enough: bool


class Act(Enum):
    """Acts that nobody does in another's name."""

    SEAL = Binding("sealing a session", Doer.LEAD, True)
    KEY_SHEET = Binding("printing the key", Doer.PRINTER, False)
    LIFT = Binding("lifting a hold of passing", Doer.LEAD, True)
    OPEN = Binding("opening a session", Doer.LEAD, True)
    KEY_IN = Binding("keying ballots in", Doer.LEAD, True)
    PACK = Binding("sending a session to another site", Doer.LEAD, True)
    UNPACK = Binding("opening a pack", Doer.LEAD_IF_ANY, True)
    RETURN = Binding("returning a session", Doer.LEAD, True)
    JOIN = Binding("joining a return", Doer.LEAD, True)
    CLOSE = Binding("closing a session", Doer.LEAD, True)
    REVEAL = Binding("revealing a session", Doer.LEAD, True)
    UNFINISHED = Binding("reading a session that somebody has glasses left of", Doer.LEAD, True)
    MARK = Binding("marking a glass", Doer.LEAD, True)
    ROLES = Binding("changing who is there or in which roles", Doer.LEAD_IF_ANY, False)
    PINS = Binding("giving a PIN", Doer.LEAD_IF_ANY, False)
    ERASE = Binding("erasing a person", Doer.LEAD_IF_ANY, False)
    CONSENT = Binding("recording a consent or its withdrawal", Doer.THEMSELVES, True)
    EXPORT = Binding("giving out what is kept about people", Doer.THEMSELVES, True)
    OWN_PAGE = Binding("what speaks of one person", Doer.THEMSELVES, True)
    PRIVATE = Binding("what is for one person and the lead only", Doer.LEAD, False)
    PROPOSE = Binding("proposing a release", Doer.BLENDER, True)
    DISGORGE = Binding("giving the litres of a release", Doer.BLENDER, True)
    SIGN = Binding("signing a release", Doer.SIGNER, False)
    BOTTLE = Binding("bottling a release", Doer.BLENDER, True)
    SETTING = Binding("changing a setting of the house", Doer.LEAD_IF_ANY, True)
    RULE = Binding("changing the rules of law in force", Doer.LEAD_IF_ANY, True)
    REGISTER = Binding("writing in the register of samples", Doer.LEAD_IF_ANY, True)
    RESTORE = Binding("putting a backup back", Doer.LEAD_IF_ANY, False)

    @property
    def words(self) -> str:
        """What is done, as a sentence begins."""
        return self.value.words

    @property
    def pass_is_enough(self) -> bool:
        """Whether who typed their PIN within the hour need not type it again."""
        return self.value.pass_is_enough


def doer_of(
    db: Session, act: Act, by: str | None, *, on: date, about: str | None = None
) -> Person | None:
    """Return who does an act that *by* asks for; None in a house that nobody leads yet.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; they may not; it takes saying who.
    """
    doer = act.value.doer
    if doer is Doer.PRINTER:
        return printing_person(db, by, on=on)
    if doer is Doer.SIGNER:
        return signing_person(db, by, on=on)
    if doer is Doer.BLENDER:
        return acting_person(db, by, Role.BLENDER, on=on)
    if doer is Doer.THEMSELVES and by is not None and by == about:
        return person_by_code(db, by)
    if doer is not Doer.LEAD and not people_with(db, Role.LEAD, on):
        if by is not None:
            person_by_code(db, by)
        return None
    return acting_person(db, by, Role.LEAD, on=on)
