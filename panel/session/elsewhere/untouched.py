"""Whether anything was said at a seat: glasses taken, scored, marked or written about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import exists, or_, select

from panel.store.booth_lines import tables_of
from panel.store.own_words import OwnWord
from panel.store.sessions import FaultMark, LeadCall, PanelSession, Serving, ServingNote

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def touched_glasses(db: Session, session: PanelSession, person_id: int) -> list[str]:
    """Return what stands already of a person's tray here: codes of glasses, own words, calls."""
    lies_in = [table for part in tables_of(session).parts for table in (part.score, part.change)]
    on_glass = (*lies_in, FaultMark, ServingNote)
    touched = or_(
        Serving.taken_at.is_not(None),
        *(exists().where(table.serving_id == Serving.id) for table in on_glass),
    )
    mine = (Serving.session_id == session.id, Serving.person_id == person_id)
    asked = select(Serving.code).where(*mine, touched).order_by(Serving.flight, Serving.position)
    found = [f"glass {code}" for code in db.scalars(asked)]
    words = select(OwnWord.word).where(
        OwnWord.session_id == session.id, OwnWord.person_id == person_id
    )
    found += ["own words"] if db.scalars(words).first() is not None else []
    calls = select(LeadCall.id).where(
        LeadCall.session_id == session.id, LeadCall.person_id == person_id
    )
    return found + (["a call for the lead"] if db.scalars(calls).first() is not None else [])
