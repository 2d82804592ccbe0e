"""Stored scores that are none: not finite, no number, or off the line that they were given on.

No booth keeps such a value; another tool can write it. Questions leave it out and count it
(`panel.frames.off_line`), saving leaves it out, and the check names it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, or_, select, type_coerce
from sqlalchemy.orm import Session
from sqlalchemy.types import NullType

from panel.store.base import LARGEST
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.line_tables import ON_DESCRIPTORS, ON_OWN_WORDS, LineTables
from panel.store.own_words import OwnScore, OwnWord
from panel.store.people import Person
from panel.store.sessions import PanelSession, Score, Serving, SessionDescriptor

HOUSE_LOW, HOUSE_HIGH = 0.0, 100.0


@dataclass(frozen=True)
class OffLine:
    """A stored value that is no score of its line; `glass` is the code that stood on it."""

    session: str
    assessor: str
    glass: str
    line: str
    value: object
    serving_id: int
    line_id: int

    def sentence(self) -> str:
        """Return where it stands and what it is."""
        return f"{self.session}, {self.assessor}, glass {self.glass}, {self.line}: {self.value}"


def off_line_scores(
    db: Session, tables: LineTables, sessions: Sequence[str] | None = None
) -> list[OffLine]:
    """Return the values off their line, of the sessions named or of all."""
    asked = _asked_on_words() if tables is ON_OWN_WORDS else _asked_on_descriptors()
    if sessions is not None:
        asked = asked.where(PanelSession.name.in_(sessions))
    rows = db.execute(asked.order_by(PanelSession.name, Person.code, Serving.code)).all()
    return [OffLine(*row) for row in rows]


def all_off_line(db: Session) -> list[OffLine]:
    """Return the values off their line, on descriptors and on own words."""
    both = (ON_DESCRIPTORS, ON_OWN_WORDS)
    return [each for tables in both for each in off_line_scores(db, tables)]


def _off_its_line() -> ColumnElement[bool]:
    low, high = SessionDescriptor.scale_low, SessionDescriptor.scale_high
    beyond = or_(Score.value < low, Score.value > high)
    return or_(beyond, low < -LARGEST, high > LARGEST)


def _of_glass(line: Any, value: Any, tables: LineTables) -> tuple[Any, ...]:
    stored = type_coerce(value, NullType())
    names = (PanelSession.name, Person.code, Serving.code, line, stored)
    return (*names, tables.score.serving_id, tables.line_of_score)


def _asked_on_descriptors() -> Select[Any]:
    line = Descriptor.name
    return (
        select(*_of_glass(line, Score.value, ON_DESCRIPTORS))
        .select_from(Score)
        .join(Serving, Serving.id == Score.serving_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Person, Person.id == Serving.person_id)
        .join(
            SessionDescriptor,
            and_(
                SessionDescriptor.session_id == Serving.session_id,
                SessionDescriptor.descriptor_version_id == Score.descriptor_version_id,
            ),
        )
        .join(DescriptorVersion, DescriptorVersion.id == Score.descriptor_version_id)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
        .where(_off_its_line())
    )


def _asked_on_words() -> Select[Any]:
    return (
        select(*_of_glass(OwnWord.word, OwnScore.value, ON_OWN_WORDS))
        .select_from(OwnScore)
        .join(Serving, Serving.id == OwnScore.serving_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Person, Person.id == Serving.person_id)
        .join(OwnWord, OwnWord.id == OwnScore.own_word_id)
        .where(or_(OwnScore.value < HOUSE_LOW, OwnScore.value > HOUSE_HIGH))
    )
