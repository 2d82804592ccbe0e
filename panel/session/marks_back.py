"""A mark on a glass taken back by who set it, for a little while and before the reveal.

What stood before stands again by one more row of marks, which names the one that it reverses.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.clock import TAKE_BACK
from panel.errors import SessionError
from panel.kinds import KEY_IS_SECRET, ServingStatus
from panel.session.found import session_at
from panel.session.marks import glasses_of, mark_row, refuse_stopped, status_before
from panel.store.log import append_entry
from panel.store.sessions import MarkReversal, Serving, ServingMark

TOO_LATE = (
    "From the reveal on no mark is taken back, neither one set before it nor one set since: mark "
    "the glass void or kept, as it is to stand, with the reason on record: `oakpanel session mark "
    "SESSION ASSESSOR CODE kept --after-reveal --note WHY`."
)
NOTE = "taken back"


def take_mark_back(
    db: Session, session: str, assessor: str, code: str, *, now: datetime, by: str
) -> Serving:
    """Take the last mark of a glass back and return the glass that stands in its place now.

    Raises
    ------
    UnknownRecord, WrongState
        No such session before its reveal, assessor or glass.
    SessionError
        No mark is left to take back, somebody else set it, more than ten minutes are over, or
        something rests on it: a new glass that was taken, an exchange of two, a stop of the draw.
    """
    held = session_at(db, session, *KEY_IS_SECRET, deed="taking a mark back", too_late=TOO_LATE)
    _, served = glasses_of(db, held, assessor, code)
    mark = _last_mark(db, served)
    if mark is None:
        raise SessionError(f"Nothing was marked on glass {code} of {assessor}.")
    refuse_stopped(db, db.get_one(Serving, mark.serving_id), assessor)
    _refuse(db, served, mark, now=now, by=by)
    newest = db.scalar(select(func.max(ServingMark.id))) or 0
    if mark.status is ServingStatus.RE_POURED:
        mark_row(db, served[-1], ServingStatus.VOID, now=now, by=by, note="poured again in error")
    standing = db.get_one(Serving, mark.serving_id)
    mark_row(db, standing, status_before(db, mark), now=now, by=by, note=NOTE)
    rows = select(ServingMark.id).where(
        ServingMark.serving_id.in_([glass.id for glass in served]), ServingMark.id > newest
    )
    db.add_all(MarkReversal(mark_id=row, reverses_id=mark.id) for row in db.scalars(rows))
    details = {"session": session, "assessor": assessor, "code": code}
    details["status"] = standing.status.value
    append_entry(db, at=now, by=by, action="mark taken back", details=details)
    return standing


def _last_mark(db: Session, served: list[Serving]) -> ServingMark | None:
    """Return the last mark that was neither taken back nor took one back."""
    done = select(MarkReversal.mark_id).union(select(MarkReversal.reverses_id))
    asked = (
        select(ServingMark)
        .where(ServingMark.serving_id.in_([glass.id for glass in served]))
        .where(ServingMark.id.not_in(done))
        .order_by(ServingMark.id.desc())
    )
    return db.scalars(asked).first()


def _refuse(
    db: Session, served: list[Serving], mark: ServingMark, *, now: datetime, by: str
) -> None:
    code = served[0].code
    if mark.by_code != by:
        raise SessionError(f"Glass {code} was marked by {mark.by_code}: who did it takes it back.")
    if now - mark.marked_at > TAKE_BACK:
        raise SessionError(
            f"Glass {code} was marked at {mark.marked_at:%H:%M} UTC, more than ten minutes ago: "
            "mark it as it is now."
        )
    newest = served[-1]
    if mark.status is ServingStatus.RE_POURED and newest.taken_at is not None:
        raise SessionError(f"The new glass {code} was taken already: the re-pour stays.")
    together = (
        select(Serving.code)
        .join(ServingMark, ServingMark.serving_id == Serving.id)
        .where(ServingMark.marked_at == mark.marked_at, ServingMark.by_code == mark.by_code)
        .where(Serving.session_id == newest.session_id, Serving.person_id == newest.person_id)
        .where(Serving.code != code)
    )
    other = db.scalars(together).first()
    if other is not None or any(glass.read_as for glass in served):
        raise SessionError(
            f"Glass {code} was marked together with {other or newest.read_as}: say of both how "
            "they stand (`oakpanel session clear`)."
        )
