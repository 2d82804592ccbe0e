"""Codes for labels and tray mats, in the order of the trays; no key."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from panel.session.found import session_at
from panel.session.sets import marked_references
from panel.session.sheets import PRINTABLE, log_printing, tray_of

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.sessions import PanelSession, SessionAssessor


@dataclass(frozen=True)
class CodeOnTray:
    """One glass: its code, and where it stands."""

    code: str
    seat: int
    assessor: str
    flight: int
    warm_up: bool
    reference: bool
    """Openly marked: what the others of its set are compared with."""


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
    codes = tuple(code for seat in session.assessors for code in _on_tray(db, session, seat))
    return CodesOfSession(session.name, session.held_on, codes)


def _on_tray(db: Session, session: PanelSession, seat: SessionAssessor) -> list[CodeOnTray]:
    tray = tray_of(db, session, seat)
    marked = marked_references(session.kind.facts, tray)
    return [
        CodeOnTray(
            *(glass.code, seat.seat, seat.person.code, glass.flight),
            warm_up=glass.warm_up,
            reference=glass.code in marked,
        )
        for glass in tray
    ]
