"""Which sessions may be judged, and which stand beside one: closed, revealed, the last few."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import distinct, func, select
from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.kinds import GlassKind, SessionStatus, pooled_kinds
from panel.store.draws import Draw
from panel.store.finding import find_session
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession


def finished_session(db: Session, name: str) -> PanelSession:
    """Return a session whose scores may be judged: closed or revealed.

    Raises
    ------
    WrongState
        It is still open (or earlier): until it closes nobody may steer it by its figures.
    """
    session = find_session(db, name)
    if session.status not in {SessionStatus.CLOSED, SessionStatus.REVEALED}:
        raise WrongState(
            f"Session {name} is {session.status.value}: its agreement is shown once it is closed, "
            f"so that nobody can steer it. `oakpanel session show {name}` tells how far it is."
        )
    return session


def n_doubled(db: Session, session: PanelSession) -> int:
    """Return how many liquids of a session stood on a tray more than once, not which.

    The plan tells as much; before the reveal it keeps anybody from asking for more of them.
    """
    twice = select(func.count(distinct(KeyRow.draw_id))).where(
        KeyRow.session_id == session.id, KeyRow.replicate > 1, KeyRow.kind != GlassKind.WARM_UP
    )
    return db.scalar(twice) or 0


def drawn_as(db: Session, sessions: Sequence[str], code: str) -> str | None:
    """Return the draw that a code stood for in revealed sessions; None where it is not just one."""
    query = (
        select(Draw.label)
        .distinct()
        .join(KeyRow, KeyRow.draw_id == Draw.id)
        .join(PanelSession, PanelSession.id == KeyRow.session_id)
        .where(
            PanelSession.name.in_(sessions),
            PanelSession.status == SessionStatus.REVEALED,
            KeyRow.code == code,
        )
    )
    found = db.scalars(query).all()
    return found[0] if len(found) == 1 else None


def recent_sessions(db: Session, name: str, count: int = 5) -> list[str]:
    """Return the last *count* revealed sessions up to and with *name*, oldest first.

    Duplicates and references pool over these; those of other kinds share no line with them.
    """
    session = find_session(db, name)
    revealed = PanelSession.status == SessionStatus.REVEALED
    query = select(PanelSession.name).where(revealed, PanelSession.kind.in_(pooled_kinds()))
    if session.held_on is not None:
        query = query.where(PanelSession.held_on <= session.held_on)
    query = query.order_by(PanelSession.held_on.desc(), PanelSession.id.desc()).limit(count)
    return list(reversed(db.scalars(query).all()))
