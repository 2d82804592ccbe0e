"""Which sessions a question is about."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import NothingNosedBy, UnknownRecord
from panel.kinds import FINISHED, Role, SessionStatus, pooled_kinds
from panel.store.draws import Draw
from panel.store.lexicon import Descriptor
from panel.store.people import PersonRole
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy.orm import Session


NEEDED = {
    "assessors": select(PersonRole.person_id).where(PersonRole.role == Role.ASSESSOR),
    "lexicon": select(Descriptor.id),
    "draws": select(Draw.id),
}
"""What a session takes, by the kind of file that brings it."""


def missing_to_plan(db: Session) -> tuple[str, ...]:
    """Return the kinds of files without which no session can be planned yet."""
    return tuple(kind for kind, one in NEEDED.items() if db.scalar(one.limit(1)) is None)


def finished_before(db: Session, first: PanelSession) -> list[PanelSession]:
    """Return the closed or revealed sessions on house descriptors held before one, oldest first."""
    if first.held_on is None:
        return []
    query = select(PanelSession).where(
        PanelSession.status.in_(FINISHED),
        PanelSession.kind.in_(pooled_kinds()),
        PanelSession.held_on < first.held_on,
    )
    return list(db.scalars(query.order_by(PanelSession.held_on, PanelSession.id)))


def sessions_between(db: Session, since: date | None, until: date | None) -> list[str]:
    """Return the closed or revealed sessions held in a span of dates, oldest first.

    Raises
    ------
    UnknownRecord
        None was held then.
    """
    query = select(PanelSession.name).where(PanelSession.status.in_(FINISHED))
    query = query.where(PanelSession.kind.in_(pooled_kinds()))
    if since is not None:
        query = query.where(PanelSession.held_on >= since)
    if until is not None:
        query = query.where(PanelSession.held_on <= until)
    names = list(db.scalars(query.order_by(PanelSession.held_on, PanelSession.id)))
    if not names:
        parts = [
            *([f"from {since} on"] if since is not None else []),
            *([f"up to {until}"] if until is not None else []),
        ]
        raise UnknownRecord(
            f"No session {' '.join(parts)} is closed yet. `oakpanel session list` has the dates."
        )
    return names


@contextmanager
def nosed_by(db: Session, day: date | None) -> Iterator[None]:
    """Name the day, and the sessions held after it, where it leaves no score to reckon with.

    Raises
    ------
    NothingNosedBy
        For the error that no score is left, where there are such sessions.
    """
    from analysis.errors import NoScoresError

    try:
        yield
    except NoScoresError as error:
        later = () if day is None or error.left_out else held_later(db, day)
        if day is None or not later:
            raise
        raise NothingNosedBy(day, later) from error


def held_later(db: Session, day: date) -> tuple[str, ...]:
    """Return the revealed sessions dated after a day, oldest first: answers of that day lack them.

    `agreement` judges such a session by its name; what is known of a cask by the day does not.
    """
    query = select(PanelSession.name).where(
        PanelSession.status == SessionStatus.REVEALED,
        PanelSession.kind.in_(pooled_kinds()),
        PanelSession.held_on > day,
    )
    return tuple(db.scalars(query.order_by(PanelSession.held_on, PanelSession.id)))
