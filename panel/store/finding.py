"""Records looked up by name, with the nearest names where there is none."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord
from panel.store.sessions import PanelSession


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
