"""Sessions looked up by name, and the stage they must be at for what was asked."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord, WrongState
from panel.store.sessions import PanelSession, SessionStatus

WHAT_NEXT = {
    SessionStatus.DRAFT: "seal it first (`oakpanel session seal`)",
    SessionStatus.SEALED: "open it first (`oakpanel session open`)",
    SessionStatus.OPEN: "close it first (`oakpanel session close`)",
    SessionStatus.CLOSED: "reveal it first (`oakpanel session reveal`)",
    SessionStatus.REVEALED: "it is finished; plan another session",
}


def nearest_words(name: str, known: Iterable[str]) -> str:
    """Return a half sentence with the names that come nearest, or nothing."""
    from difflib import get_close_matches

    close = get_close_matches(name, list(known), n=3, cutoff=0.5)
    return f" Nearest: {', '.join(close)}." if close else ""


def find_session(db: Session, name: str) -> PanelSession:
    """Return the session, or say which name comes nearest.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = db.scalar(select(PanelSession).where(PanelSession.name == name))
    if session is None:
        near = nearest_words(name, db.scalars(select(PanelSession.name)))
        raise UnknownRecord(f"There is no session {name!r}.{near}")
    return session


def session_at(db: Session, name: str, *stages: SessionStatus, deed: str) -> PanelSession:
    """Return the session if it stands at one of *stages*, else say what comes first.

    Raises
    ------
    UnknownRecord, WrongState
        There is none of that name, or it is at another stage.
    """
    session = find_session(db, name)
    if session.status in stages:
        return session
    wanted = " or ".join(stage.value for stage in stages)
    raise WrongState(
        f"Session {name!r} is {session.status.value}; {deed} needs one that is {wanted}. "
        f"{_way_there(session.status, stages)}"
    )


def _way_there(now: SessionStatus, stages: tuple[SessionStatus, ...]) -> str:
    order = list(SessionStatus)
    if order.index(now) < max(map(order.index, stages)):
        hint = WHAT_NEXT[now]
        return hint[0].upper() + hint[1:] + "."
    return "A session goes one way only; nothing was changed."
