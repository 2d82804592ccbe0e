"""Which fillings a panel has nosed, and the last draw that it had of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from panel.kinds import GlassKind, SessionStatus
from panel.store.draws import Draw
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession


@dataclass(frozen=True)
class Nosed:
    """The day of the last draw that was nosed; None where no draw has a day."""

    drawn_on: date | None


def nosed_by_filling(db: Session, as_of: date) -> Mapping[int, Nosed]:
    """Return by id every filling that a revealed session held by *as_of* has nosed."""
    query = (
        select(Draw.filling_id, func.max(Draw.drawn_on))
        .join(KeyRow, KeyRow.draw_id == Draw.id)
        .join(PanelSession, PanelSession.id == KeyRow.session_id)
        .where(
            Draw.filling_id.is_not(None),
            KeyRow.kind != GlassKind.WARM_UP,
            PanelSession.status == SessionStatus.REVEALED,
            or_(PanelSession.held_on.is_(None), PanelSession.held_on <= as_of),
        )
        .group_by(Draw.filling_id)
    )
    return {filling: Nosed(day) for filling, day in db.execute(query) if filling is not None}


def any_nosed(db: Session, as_of: date) -> bool:
    """Say whether a session held by *as_of* is revealed: something is known of the casks."""
    query = select(PanelSession.id).where(
        PanelSession.status == SessionStatus.REVEALED,
        or_(PanelSession.held_on.is_(None), PanelSession.held_on <= as_of),
    )
    return db.scalar(query.limit(1)) is not None
