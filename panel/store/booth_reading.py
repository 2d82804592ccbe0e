"""One booth's tray, read in one transaction: lines, glasses, scores, marks and open calls."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, joinedload

from panel.errors import WrongState
from panel.store.booth_seat import checked_session
from panel.store.booth_tray import Glass, KeptScore, Line, OpenCall, Seat, Tray
from panel.store.house import read_setting
from panel.store.lexicon import DescriptorVersion
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    Manner,
    PanelSession,
    Score,
    Serving,
    ServingNote,
    ServingStatus,
    SessionAssessor,
    SessionDescriptor,
)


def tray(db: Session, seat: Seat) -> Tray:
    """Return everything the booth shows of this assessor's session."""
    session = checked_session(db, seat)
    return Tray(
        session=session.name,
        tasted=session.manner is Manner.TASTE,
        may_go_back=session.may_go_back,
        pause_s=session.pause_s,
        time_zone=str(read_setting(db, "time_zone")),
        not_at_best=chair_of(db, seat).not_at_best,
        lines=tuple(_line(row) for row in _sheet(db, session)),
        glasses=tuple(_glasses(db, seat)),
        calls=tuple(_open_calls(db, seat)),
    )


def _sheet(db: Session, session: PanelSession) -> Iterable[SessionDescriptor]:
    whole = joinedload(SessionDescriptor.descriptor_version).joinedload(
        DescriptorVersion.descriptor
    )
    asked = select(SessionDescriptor).where(SessionDescriptor.session_id == session.id)
    return db.scalars(asked.options(whole).order_by(SessionDescriptor.place))


def _line(row: SessionDescriptor) -> Line:
    version = row.descriptor_version
    return Line(
        version_id=version.id,
        name=version.descriptor.name,
        stage=version.stage.value,
        meaning=version.meaning or "",
        low_words=version.low_words,
        high_words=version.high_words,
        low=round(row.scale_low),
        high=round(row.scale_high),
    )


def _glasses(db: Session, seat: Seat) -> Iterable[Glass]:
    servings = db.scalars(servings_of(seat).order_by(Serving.flight, Serving.position)).all()
    ids = [serving.id for serving in servings]
    scores: dict[int, dict[int, KeptScore]] = {}
    for score in db.scalars(select(Score).where(Score.serving_id.in_(ids))):
        kept = KeptScore(score.value, score.given_at)
        scores.setdefault(score.serving_id, {})[score.descriptor_version_id] = kept
    faults: dict[int, set[str]] = {}
    for mark in db.scalars(select(FaultMark).where(FaultMark.serving_id.in_(ids))):
        faults.setdefault(mark.serving_id, set()).add(mark.fault.value)
    written = db.scalars(select(ServingNote).where(ServingNote.serving_id.in_(ids)))
    notes = {note.serving_id: note.text for note in written}
    for serving in servings:
        i = serving.id
        yield _glass(serving, scores.get(i, {}), faults.get(i, set()), notes.get(i, ""))


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
