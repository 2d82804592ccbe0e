"""A draft read back as the plan it was made from, so that it can be planned again."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import GlassKind
from panel.session.plan_parts import AS_DRAFTED, SPECIAL, SessionPlan, doubled
from panel.store.finding import find_session
from panel.store.house import number_setting
from panel.store.key import KeySecret, PlannedDraw
from panel.store.sessions import PanelSession


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
