"""Codes for labels and tray mats, in the order of the trays; no key."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from panel.session.found import session_at
from panel.session.sheets import PRINTABLE, log_printing, tray_of

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class CodeOnTray:
    """One glass: its code, and where it stands."""

    code: str
    seat: int
    assessor: str
    flight: int
    warm_up: bool


@dataclass(frozen=True)
class CodesOfSession:
    """The codes of all trays of a session, seat by seat."""

    session: str
    held_on: date | None
    codes: tuple[CodeOnTray, ...]


def codes_to_print(db: Session, name: str, what: str, *, now: datetime, by: str) -> CodesOfSession:
    """Return them; that labels or mats were printed, and by whom, goes into the log.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    """
    session = session_at(db, name, *PRINTABLE, deed="printing a sheet")
    log_printing(db, session, f"{what} printed", now=now, by=by)
    codes = tuple(
        CodeOnTray(glass.code, seat.seat, seat.person.code, glass.flight, glass.warm_up)
        for seat in session.assessors
        for glass in tray_of(db, session, seat)
    )
    return CodesOfSession(session.name, session.held_on, codes)
