"""Ballots on paper: one page an assessor, by codes alone, to be keyed in afterwards."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

from panel.session.dose import CAUTIONS
from panel.session.found import session_at
from panel.session.kinds import HELD
from panel.session.paper import paragraph, rule
from panel.session.sheets import PRINTABLE, Printing, log_printing, sheet_heading, tray_of

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.sessions import PanelSession, SessionAssessor

PAGE = "\f"
HOW = (
    "Write with a pen, strike out what is wrong and write it anew; blank means not answered. Hand "
    "it to the lead, who keys it in."
)


def ballots(db: Session, name: str, *, now: datetime, by: str) -> str:
    """Return one page a tray to be answered on paper. No key; who printed them goes into the log.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    """
    session = session_at(db, name, *PRINTABLE, deed="printing a sheet")
    head = log_printing(db, session, "ballots printed", now=now, by=by)
    heading = sheet_heading(session, "BALLOT", Printing(by, now, head, ()))
    pages = ["\n".join([*heading, *_page(db, session, seat)]) for seat in session.assessors]
    return f"\n{PAGE}".join(pages) + "\n"


def _page(db: Session, session: PanelSession, seat: SessionAssessor) -> Iterator[str]:
    yield ""
    yield f"Seat {seat.seat}  assessor {seat.person.code}    time ________    signed ________"
    yield ""
    yield from paragraph(HOW)
    yield ""
    yield from HELD[session.kind].ballot(session, tray_of(db, session, seat))
    yield rule()
    for words in CAUTIONS:
        yield from paragraph(words, bullet="- ")
