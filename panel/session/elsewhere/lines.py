"""By what a line is known at both sites: its place on the sheet or among words, its question."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import LinesFrom
from panel.session.elsewhere.values import CarriedLine
from panel.store.answers import ONLY_QUESTION
from panel.store.own_words import OwnWord
from panel.store.sessions import SessionDescriptor

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.sessions import PanelSession

Places = Mapping[int, int]
"""By the number of a line in this database: its place."""


def _on_the_sheet(db: Session, session: PanelSession, _person_id: int) -> Places:
    asked = select(SessionDescriptor.descriptor_version_id, SessionDescriptor.place)
    found = db.execute(asked.where(SessionDescriptor.session_id == session.id))
    return {line: place for line, place in found}


def _among_own_words(db: Session, session: PanelSession, person_id: int) -> Places:
    asked = select(OwnWord.id, OwnWord.place)
    mine = (OwnWord.session_id == session.id, OwnWord.person_id == person_id)
    return {line: place for line, place in db.execute(asked.where(*mine))}


def _by_question(_db: Session, _session: PanelSession, _person_id: int) -> Places:
    return {ONLY_QUESTION: ONLY_QUESTION}


PLACES: dict[LinesFrom, Callable[[Session, PanelSession, int], Places]] = {
    LinesFrom.LEXICON: _on_the_sheet,
    LinesFrom.EACH_ASSESSOR: _among_own_words,
    LinesFrom.ANSWER: _by_question,
}


def places_of(db: Session, session: PanelSession, person_id: int) -> Places:
    """Return by the number of each line of a person's sheet its place, the same at both sites."""
    return PLACES[session.kind.facts.lines](db, session, person_id)


def sheet_of(session: PanelSession) -> tuple[CarriedLine, ...]:
    """Return the house's lines of a session as a pack carries them; no recipe of a reference."""
    return tuple(
        CarriedLine(
            place=row.place,
            name=row.descriptor_version.descriptor.name,
            version=row.descriptor_version.version,
            meaning=row.descriptor_version.meaning,
            stage=row.descriptor_version.stage,
            low_words=row.descriptor_version.low_words,
            high_words=row.descriptor_version.high_words,
            low=row.scale_low,
            high=row.scale_high,
            ought_to_be_absent=row.descriptor_version.ought_to_be_absent,
        )
        for row in session.descriptors
    )
