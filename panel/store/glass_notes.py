"""What assessors wrote about glasses, and what was in them: only of sessions that are revealed.

Nothing that a booth imports may import this module: it reads the key.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from panel.kinds import SessionStatus
from panel.store.casks import Cask, Filling
from panel.store.draws import Draw
from panel.store.key import KeyRow, behind_serving
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving, ServingNote
from panel.store.word_text import plain_word


@dataclass(frozen=True)
class GlassNote:
    """One note as it was written. `cask` is missing where the glass came from none."""

    session: str
    held_on: date | None
    assessor: str
    glass: str
    draw: str
    cask: str | None
    note: str

    def line(self) -> str:
        """Return it as a person reads it."""
        of_cask = f" of {self.cask}" if self.cask else ""
        return f"{self.assessor} on {self.glass} ({self.draw}{of_cask}): {plain_word(self.note)}"


def session_notes(db: Session, session: PanelSession) -> tuple[GlassNote, ...]:
    """Return the notes of a session, none before its reveal."""
    return _notes(db, PanelSession.id == session.id)


def cask_notes(db: Session, number: str, as_of: date) -> tuple[GlassNote, ...]:
    """Return the notes on glasses from one cask up to a day, by session."""
    until = or_(PanelSession.held_on.is_(None), PanelSession.held_on <= as_of)
    return _notes(db, Cask.number == number, until)


def _notes(db: Session, *which: ColumnElement[bool]) -> tuple[GlassNote, ...]:
    asked = (
        select(
            *(PanelSession.name, PanelSession.held_on, Person.code, Serving.code),
            *(Draw.label, Cask.number, ServingNote.text),
        )
        .select_from(ServingNote)
        .join(Serving, Serving.id == ServingNote.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(KeyRow, behind_serving())
        .join(Draw, Draw.id == KeyRow.draw_id)
        .outerjoin(Filling, Filling.id == Draw.filling_id)
        .outerjoin(Cask, Cask.id == Filling.cask_id)
        .where(PanelSession.status == SessionStatus.REVEALED, *which)
        .order_by(PanelSession.held_on, PanelSession.name, Draw.label, Person.code, Serving.id)
    )
    return tuple(GlassNote(*row) for row in db.execute(asked))
