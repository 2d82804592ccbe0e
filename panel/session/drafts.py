"""A draft read back as the plan it was made from, so that it can be planned again; or dropped."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from panel.kinds import GlassKind, SessionStatus
from panel.session.found import session_at
from panel.session.plan_parts import AS_DRAFTED, SPECIAL, SessionPlan, doubled
from panel.store.finding import find_session
from panel.store.house import number_setting
from panel.store.key import KeySecret, PlannedDraw
from panel.store.log import append_entry
from panel.store.sessions import PanelSession, SessionAssessor, SessionDescriptor


def planned_again(db: Session, name: str) -> SessionPlan:
    """Return the plan of a draft. Its duplicates stand in it as such, unnamed.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    rows = select(PlannedDraw).where(PlannedDraw.session_id == session.id)
    planned = db.scalars(rows.order_by(PlannedDraw.place)).all()
    nosed = [row for row in planned if row.kind not in SPECIAL]
    replicates = min((row.glasses for row in nosed), default=1)
    by_kind = {row.kind: row.draw.label for row in planned if row.kind in SPECIAL}
    return SessionPlan(
        name=session.name,
        held_on=session.held_on,
        assessors=tuple(seat.person.code for seat in session.assessors),
        draws=tuple(row.draw.label for row in nosed),
        descriptors=tuple(line.descriptor_version.descriptor.name for line in session.descriptors),
        replicates=replicates,
        reference=by_kind.get(GlassKind.REFERENCE),
        duplicates=(AS_DRAFTED,) * len(doubled(db, session.id)),
        warm_up=by_kind.get(GlassKind.WARM_UP),
        manner=session.manner,
        may_go_back=session.may_go_back,
        codes_per_assessor=session.codes_per_assessor,
        pause_s=session.pause_s,
        pour_ml=session.pour_ml,
        nosing_abv=session.nosing_abv,
        site=session.site,
        kind=session.kind,
        most_words=session.most_words,
        seed=_rehearsal_seed(db, session),
        insist=len(session.descriptors) > number_setting(db, "session_descriptors"),
    )


def _rehearsal_seed(db: Session, session: PanelSession) -> int | None:
    """Return the number that a rehearsal was planned with; of other sessions nobody is told."""
    secret = db.get(KeySecret, session.id) if session.rehearsal else None
    return None if secret is None else int(secret.seed_hex, 16)


KEPT_FOR_GOOD = "What was sealed stays, with its key and whatever was scored."


def drop_draft(db: Session, name: str, *, now: datetime, by: str) -> None:
    """Drop a draft: its name is free again. That there was one stands in the log.

    Raises
    ------
    UnknownRecord, WrongState
        There is no session of that name, or it is no draft any more.
    """
    draft = session_at(db, name, SessionStatus.DRAFT, deed="dropping it", too_late=KEPT_FOR_GOOD)
    remove_draft(db, draft)
    append_entry(db, at=now, by=by, action="draft dropped", details={"session": name})


def remove_draft(db: Session, draft: PanelSession) -> None:
    """Delete the rows of a draft; whoever calls writes the log entry that tells of it."""
    for table in (PlannedDraw, KeySecret, SessionAssessor, SessionDescriptor):
        db.execute(delete(table).where(table.session_id == draft.id))
    db.execute(delete(PanelSession).where(PanelSession.id == draft.id))
    db.expire_all()
