"""A glass marked once everybody knows what was in it: by a recorded way only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import SessionError
from panel.kinds import ServingStatus, SessionStatus
from panel.session.clearing import TOO_LATE
from panel.session.found import session_at
from panel.session.marks import mark_row, standing_glass
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving, ServingMark

LATE_MARKS = (ServingStatus.VOID, ServingStatus.KEPT)
"""What a glass can still be marked as once everybody knows what was in it."""


def mark_after_reveal(
    db: Session,
    session: str,
    assessor: str,
    code: str,
    status: ServingStatus,
    *,
    now: datetime,
    by: str,
    reason: str,
) -> Serving:
    """Take a glass out of a revealed session, or bring one back; return it.

    Whoever does it knows what was in the glass, so the reason stands in the log beside it.

    Raises
    ------
    UnknownRecord, WrongState
        No such revealed session, assessor or glass.
    SessionError
        No reason; the glass bears that mark already; the mark is none for a revealed session; or
        a swap was suspected of the glass and not cleared in time.
    """
    held = session_at(db, session, SessionStatus.REVEALED, deed="marking a glass after the reveal")
    if status not in LATE_MARKS:
        raise SessionError(
            "After the reveal a glass can be void or kept: none is poured any more, and a "
            "suspected swap is cleared before it."
        )
    if not reason.strip():
        raise SessionError("Say why: what is marked after the reveal is kept with its reason.")
    glass = standing_glass(db, held, assessor, code)
    before = glass.status
    if before is ServingStatus.SWAP_SUSPECTED and status is ServingStatus.KEPT:
        raise SessionError(TOO_LATE)
    if status is before:
        raise SessionError(f"Glass {code} of {assessor} is {status.value} already.")
    mark_row(db, glass, status, now=now, by=by, note=reason)
    details = {"session": session, "assessor": assessor, "code": code, "reason": reason}
    details |= {"before": before.value, "status": status.value}
    append_entry(db, at=now, by=by, action="glass marked after the reveal", details=details)
    return glass


@dataclass(frozen=True)
class LateMark:
    """A glass that was marked when everybody knew what was in it."""

    assessor: str
    code: str
    status: str
    by: str
    marked_at: datetime
    reason: str


def late_marks(db: Session, session: PanelSession) -> tuple[LateMark, ...]:
    """Return what was marked on a session's glasses after its reveal, oldest first."""
    if session.revealed_at is None:
        return ()
    found = (
        select(ServingMark, Person.code, Serving.code)
        .join(Serving, Serving.id == ServingMark.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .where(Serving.session_id == session.id, ServingMark.marked_at > session.revealed_at)
        .order_by(ServingMark.id)
    )
    return tuple(
        LateMark(who, code, mark.status.value, mark.by_code, mark.marked_at, mark.note or "")
        for mark, who, code in db.execute(found)
    )
