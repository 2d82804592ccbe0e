"""What came after a session was opened again: by then its scores could be read.

The log is the record of it: a session keeps no moment of a reopening. While it is closed and
somebody has glasses left, its scores are for a lead only (`left_unfinished`); what was read before
all the same stays known, so what was scored later is told apart wherever it is told.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import SessionStatus
from panel.session.progress import session_progress
from panel.store.booth_lines import tables_of
from panel.store.finding import find_session
from panel.store.log import LogEntry
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

REOPENED = "session reopened"
STAYS_KNOWN = (
    "What anybody read of it while it was closed stays known to them: agreement, show, reveal and "
    "report tell how many scores come from now on, and by whom."
)


@dataclass(frozen=True)
class AfterReopening:
    """Scores given or changed after a session was first opened again, and by whom."""

    reopened_at: datetime
    n_scores: int
    n_glasses: int
    assessors: tuple[str, ...]

    def words(self) -> str:
        """Return it in a sentence."""
        if not self.n_glasses:
            return "It was closed and opened again; nothing was scored after that."
        return (
            "It was closed and opened again, and by then its scores could be read. After that came "
            f"(scores: {self.n_scores}, glasses: {self.n_glasses}) what "
            f"{', '.join(self.assessors)} gave."
        )


def after_reopening(db: Session, name: str) -> AfterReopening | None:
    """Return what came after a session was first opened again; None where it never was.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    at = _first_reopened(db, session)
    if at is None:
        return None
    n_scores, glasses = 0, set(_finished_after(db, session, at))
    for tables in tables_of(session).parts:
        score = tables.score
        given = (
            select(Serving.id)
            .join(score, score.serving_id == Serving.id)
            .where(Serving.session_id == session.id, tables.is_score, score.given_at > at)
        )
        found = db.scalars(given).all()
        n_scores += len(found)
        glasses.update(found)
    return AfterReopening(at, n_scores, len(glasses), _whose(db, glasses))


def left_unfinished(db: Session, names: Iterable[str]) -> tuple[str, ...]:
    """Return those of some sessions that are closed, not revealed, and not finished by all."""
    return tuple(
        name
        for name in names
        if find_session(db, name).status is SessionStatus.CLOSED
        and any(
            not seat.finished and seat.n_done < seat.n_to_score
            for seat in session_progress(db, name).seats
        )
    )


def _first_reopened(db: Session, session: PanelSession) -> datetime | None:
    if session.opened_at is None:
        return None
    named = f'"session":{json.dumps(session.name, ensure_ascii=False)}'
    asked = (
        select(LogEntry.written_at)
        .where(LogEntry.written_at >= session.opened_at)
        .where(LogEntry.written_at <= (session.revealed_at or LogEntry.written_at))
        .where(LogEntry.body_json.contains(f'"action":"{REOPENED}"', autoescape=True))
        .where(LogEntry.body_json.contains(named, autoescape=True))
    )
    return db.scalar(asked.order_by(LogEntry.id).limit(1))


def _finished_after(db: Session, session: PanelSession, at: datetime) -> Iterable[int]:
    return db.scalars(
        select(Serving.id).where(Serving.session_id == session.id, Serving.finished_at > at)
    )


def _whose(db: Session, glasses: set[int]) -> tuple[str, ...]:
    whose = select(Person.code).join(Serving, Serving.person_id == Person.id)
    return tuple(db.scalars(whose.where(Serving.id.in_(glasses)).distinct().order_by(Person.code)))
