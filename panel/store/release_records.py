"""Releases by name, and the lock that keeps two of them from spending the same cask."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord
from panel.store.casks import Cask, Filling
from panel.store.releases import Release


def find_release(db: Session, name: str) -> Release:
    """Return a release by name, or say which comes nearest.

    Raises
    ------
    UnknownRecord
        There is none of that name.
    """
    release = db.scalar(select(Release).where(Release.name == name))
    if release is None:
        names = db.scalars(select(Release.name).order_by(Release.name)).all()
        near = get_close_matches(name, names, n=3) or names[:8]
        hint = f" There are: {', '.join(near)}." if near else " None was proposed yet."
        raise UnknownRecord(f"There is no release {name!r}.{hint}")
    return release


def releases(db: Session) -> list[Release]:
    """Return all releases, the newest first."""
    return list(db.scalars(select(Release).order_by(Release.planned_on.desc(), Release.id.desc())))


def lock_casks(db: Session, casks: Iterable[str]) -> None:
    """Keep others from spending the same casks until this transaction ends."""
    # SQLite holds its one write lock already; a server locks these rows till the commit.
    rows = select(Filling.id).join(Cask).where(Cask.number.in_(list(casks)))
    db.execute(rows.order_by(Filling.id).with_for_update(of=Filling)).all()
