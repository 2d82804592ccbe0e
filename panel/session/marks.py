"""What the lead makes of a glass. Originals are kept."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.errors import SessionError, UnknownRecord, WrongState
from panel.kinds import KEY_IS_SECRET, Manner, ServingStatus, SessionStatus
from panel.session.care import dose_faults, tray_dose
from panel.session.found import session_at
from panel.store.finding import nearest_words
from panel.store.log import append_entry
from panel.store.sessions import (
    PanelSession,
    Serving,
    ServingMark,
    SessionAssessor,
)
from panel.store.stops import stopped_in

BY_A_REASON = (
    "Once it is revealed a glass can be taken out or brought back, with the reason on record: "
    "`oakpanel session mark ... void --after-reveal --note WHY`."
)


def mark_glass(
    db: Session,
    session: str,
    assessor: str,
    code: str,
    status: ServingStatus,
    *,
    now: datetime,
    by: str,
    note: str | None = None,
) -> Serving:
    """Mark a glass before the reveal and return the glass that now stands in its place.

    Void and swap suspected keep the scores and leave them out; a suspected swap is cleared by
    `clear_swap`, and one that was cleared as an exchange is in doubt again.
    Re-poured sets a new glass of the same code on the tray; the first one's scores are kept. Kept
    takes a mark back; on a glass poured again in error it brings the first one back, as long as
    nobody took the new one.

    Raises
    ------
    UnknownRecord, WrongState
        No such session before its reveal, assessor or glass; re-pouring after closing.
    SessionError
        The glass bears that mark already, it is stopped as not safe, or one more to taste would
        pass a cap on ethanol.
    """
    held = session_at(db, session, *KEY_IS_SECRET, deed="marking a glass", too_late=BY_A_REASON)
    seat, served = glasses_of(db, held, assessor, code)
    glass = _standing(served)
    refuse_stopped(db, glass, assessor)
    poured_in_error = _poured_in_error(glass, status)
    if status is glass.status and not poured_in_error:
        raise SessionError(f"Glass {code} of {assessor} is {status.value} already.")
    standing = glass
    if glass.read_as is not None:
        _doubt_again(db, glass, status, now=now, by=by)
    if poured_in_error:
        mark_row(db, glass, ServingStatus.VOID, now=now, by=by, note="poured again in error")
        glass = standing = max(_of_status(served, ServingStatus.RE_POURED), key=_pouring)
    elif status is ServingStatus.RE_POURED:
        standing = _pour_again(db, held, seat, served)
    mark_row(db, glass, status, now=now, by=by, note=note)
    details = {"session": session, "assessor": assessor, "code": code, "status": status.value}
    append_entry(db, at=now, by=by, action="glass marked", details=details)
    return standing


def refuse_stopped(db: Session, glass: Serving, assessor: str) -> None:
    """Refuse a mark on one glass of a draw that is stopped: it comes back as a whole or not at all.

    Raises
    ------
    SessionError
        It is stopped.
    """
    if glass.id in stopped_in(db, glass.session_id):
        raise SessionError(
            f"Glass {glass.code} of {assessor} is stopped as not safe, with all of its draw. Mark "
            "it safe again, with the reason (`oakpanel session mark ... safe-again --note WHY`): "
            "that brings back every glass that was stopped."
        )


def _pouring(glass: Serving) -> int:
    return glass.pouring


def _of_status(served: list[Serving], *wanted: ServingStatus) -> list[Serving]:
    return [glass for glass in served if glass.status in wanted]


def _poured_in_error(glass: Serving, status: ServingStatus) -> bool:
    """Whether a mark takes back a re-pour: kept, said of a new glass that nobody took."""
    return (
        status is ServingStatus.KEPT
        and glass.status is ServingStatus.KEPT
        and glass.pouring > 1
        and glass.taken_at is None
    )


def _standing(served: list[Serving]) -> Serving:
    """Return the glass that stands on the tray now.

    That is the newest one that was not poured again. A void one that nobody took gives way to an
    earlier one: it was a re-pour that was taken back.
    """
    here = [glass for glass in served if glass.status is not ServingStatus.RE_POURED]
    used = [
        glass
        for glass in here
        if glass.status is not ServingStatus.VOID or glass.taken_at is not None
    ]
    return used[-1] if used else here[0]


def glasses_of(
    db: Session, session: PanelSession, assessor: str, code: str
) -> tuple[SessionAssessor, list[Serving]]:
    """Return the seat and every pouring of the glass, oldest first.

    Raises
    ------
    UnknownRecord
        There is no such seat or glass.
    """
    seats = {seat.person.code: seat for seat in session.assessors}
    if assessor not in seats:
        near = nearest_words(assessor, seats)
        raise UnknownRecord(f"{assessor!r} has no seat in session {session.name!r}.{near}")
    tray = select(Serving).where(
        Serving.session_id == session.id, Serving.person_id == seats[assessor].person_id
    )
    served = list(db.scalars(tray.where(Serving.code == code).order_by(Serving.pouring)))
    if not served:
        near = nearest_words(code, {glass.code for glass in db.scalars(tray)})
        raise UnknownRecord(f"There is no glass {code!r} on the tray of {assessor}.{near}")
    return seats[assessor], served


def standing_glass(db: Session, session: PanelSession, assessor: str, code: str) -> Serving:
    """Return the glass of a code that stands on somebody's tray now.

    Raises
    ------
    UnknownRecord
        There is no such seat or glass.
    """
    return _standing(glasses_of(db, session, assessor, code)[1])


def _doubt_again(
    db: Session, glass: Serving, status: ServingStatus, *, now: datetime, by: str
) -> None:
    """Take an exchange back where one of its two glasses is in doubt again.

    Raises
    ------
    SessionError
        It is to be poured again: nobody could say of which of the two the new glass is.
    """
    if status is ServingStatus.RE_POURED:
        raise SessionError(
            f"Glass {glass.code} is read as {glass.read_as}, with which it had changed places. "
            "Mark it swap suspected first: that takes the exchange back."
        )
    if status is not ServingStatus.SWAP_SUSPECTED:
        return
    other = exchanged_with(db, glass)
    for one in (glass, other):
        one.read_as = None
    if other.status is ServingStatus.KEPT:
        mark_row(db, other, status, now=now, by=by, note=f"with {glass.code}")


def exchanged_with(db: Session, glass: Serving) -> Serving:
    """Return the glass of the same tray that is read under this one's code."""
    tray = select(Serving).where(
        Serving.session_id == glass.session_id, Serving.person_id == glass.person_id
    )
    return db.scalars(tray.where(Serving.read_as == glass.code)).one()


def _pour_again(
    db: Session, session: PanelSession, seat: SessionAssessor, served: list[Serving]
) -> Serving:
    if session.status is SessionStatus.CLOSED:
        raise WrongState(
            f"Session {session.name!r} is closed, so a new glass could not be scored: reopen it "
            "first (`oakpanel session reopen`)."
        )
    _check_dose(db, session, seat)
    glass = served[-1]
    poured = Serving(
        session_id=glass.session_id,
        person_id=glass.person_id,
        flight=glass.flight,
        position=glass.position,
        code=glass.code,
        pouring=glass.pouring + 1,
        warm_up=glass.warm_up,
        status=ServingStatus.KEPT,
    )
    db.add(poured)
    seat.finished_at = None  # there is a glass to score again
    db.flush()
    return poured


def _check_dose(db: Session, session: PanelSession, seat: SessionAssessor) -> None:
    """Refuse one more glass to taste that passes a cap; earlier pourings count as tasted."""
    if session.manner is not Manner.TASTE:
        return
    mine = select(func.count()).where(
        Serving.session_id == session.id, Serving.person_id == seat.person_id
    )
    dose = tray_dose(db, (db.scalar(mine) or 0) + 1, session.pour_ml, session.nosing_abv)
    people = {seat.person.code: seat.person_id}
    if faults := dose_faults(db, dose, people, session.held_on, session.name):
        raise SessionError(f"No glass more for {seat.person.code}. {' '.join(faults)}")


def mark_row(
    db: Session,
    glass: Serving,
    status: ServingStatus,
    *,
    now: datetime,
    by: str,
    note: str | None,
) -> ServingMark:
    """Set a mark and keep it in the row of marks; who may and when is for the caller."""
    glass.status = status
    mark = ServingMark(
        serving_id=glass.id, status=status, marked_at=now, by_code=by, note=note or None
    )
    db.add(mark)
    db.flush()
    return mark


def status_before(db: Session, mark: ServingMark) -> ServingStatus:
    """Return how a glass stood before a mark."""
    earlier = (
        select(ServingMark.status)
        .where(ServingMark.serving_id == mark.serving_id, ServingMark.id < mark.id)
        .order_by(ServingMark.id.desc())
    )
    return db.scalars(earlier).first() or ServingStatus.KEPT
