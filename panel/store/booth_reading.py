"""One booth's tray, read in one transaction: lines, glasses, scores, marks and open calls."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.kinds import Manner, ServingStatus, SessionStatus
from panel.store.booth_lines import lines_of, own_words_of, tables_of
from panel.store.booth_seat import checked_session, shown
from panel.store.booth_tray import Glass, KeptScore, OpenCall, Seat, Tray
from panel.store.booth_user import is_booth, show_token
from panel.store.house import read_setting
from panel.store.line_tables import Tables
from panel.store.passing import Passing
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    PanelSession,
    Serving,
    ServingNote,
    SessionAssessor,
)
from panel.store.stage_lines import told_of
from panel.store.stopped import stopped_among


def tray(db: Session, seat: Seat) -> Tray:
    """Return everything the booth shows of this assessor's session."""
    return _tray(db, seat, checked_session(db, seat))


def kept_tray(db: Session, seat: Seat) -> Tray:
    """Return the same right after this seat has kept something, which was checked then.

    Were the session closed in between, what was kept must not be told as lost. (On a server a
    booth's own user sees no row of a closed session any more: there it is told that it was closed.)
    """
    show_token(db, seat.token)
    session = db.get(PanelSession, seat.session_id, options=shown(db))
    if session is None or (session.status is not SessionStatus.OPEN and is_booth(db.connection())):
        return tray(db, seat)
    return _tray(db, seat, session)


def tray_unseated(db: Session, session: PanelSession, person_id: int, code: str) -> Tray:
    """Return somebody's tray to whoever holds the records anyway; no seat is taken by it."""
    return _tray(db, Seat(session.id, person_id, code, ""), session)


def _tray(db: Session, seat: Seat, session: PanelSession) -> Tray:
    passing = db.get(Passing, session.id)
    return Tray(
        session=session.name,
        held_as=session.kind,
        tasted=session.manner is Manner.TASTE,
        may_go_back=session.may_go_back,
        pause_s=session.pause_s,
        time_zone=str(read_setting(db, "time_zone")),
        not_at_best=chair_of(db, seat).not_at_best,
        lines=lines_of(db, seat, session),
        glasses=tuple(_glasses(db, seat, tables_of(session))),
        calls=tuple(_open_calls(db, seat)),
        own=own_words_of(db, seat, session),
        told=passing.told if passing else told_of(session),
        air_s=passing.air_s if passing else 0,
    )


def _glasses(db: Session, seat: Seat, tables: Tables) -> Iterable[Glass]:
    servings = db.scalars(servings_of(seat).order_by(Serving.flight, Serving.position)).all()
    ids = [serving.id for serving in servings]
    scores: dict[int, dict[int, KeptScore]] = {}
    for serving_id, line, score in tables.given(db, ids):
        scores.setdefault(serving_id, {})[line] = KeptScore(score.value, score.given_at)
    faults: dict[int, set[str]] = {}
    for mark in db.scalars(select(FaultMark).where(FaultMark.serving_id.in_(ids))):
        faults.setdefault(mark.serving_id, set()).add(mark.fault.value)
    written = db.scalars(select(ServingNote).where(ServingNote.serving_id.in_(ids)))
    notes = {note.serving_id: note.text for note in written}
    stopped = stopped_among(db, ids)
    for serving in servings:
        i = serving.id
        glass = _glass(serving, scores.get(i, {}), faults.get(i, set()), notes.get(i, ""))
        yield replace(glass, withdrawn=True, stopped=True) if i in stopped else glass


def _glass(
    serving: Serving, scores: Mapping[int, KeptScore], faults: Collection[str], note: str
) -> Glass:
    return Glass(
        serving_id=serving.id,
        code=serving.code,
        flight=serving.flight,
        position=serving.position or 0,
        pouring=serving.pouring,
        warm_up=serving.warm_up,
        withdrawn=serving.status is ServingStatus.VOID,
        poured_again=serving.status is ServingStatus.RE_POURED,
        taken_order=serving.taken_order,
        taken_at=serving.taken_at,
        finished_at=serving.finished_at,
        scores=dict(scores),
        faults=frozenset(faults),
        note=note,
    )


def _open_calls(db: Session, seat: Seat) -> Iterable[OpenCall]:
    asked = select(LeadCall).where(
        LeadCall.session_id == seat.session_id,
        LeadCall.person_id == seat.person_id,
        LeadCall.answered_at.is_(None),
    )
    for call in db.scalars(asked.order_by(LeadCall.id)):
        yield OpenCall(call.reason.value, call.called_at)


def servings_of(seat: Seat) -> Select[Serving]:
    """Return the question for all glasses of one assessor in the session."""
    return select(Serving).where(
        Serving.session_id == seat.session_id, Serving.person_id == seat.person_id
    )


def chair_of(db: Session, seat: Seat) -> SessionAssessor:
    """Return the assessor's own row in the session."""
    chair = db.get(SessionAssessor, (seat.session_id, seat.person_id))
    if chair is None:
        raise WrongState(f"{seat.code} is no longer in this session. Ask the lead.")
    return chair
