"""Words that assessors name themselves in a session, and the scores on them.

A booth may read and write these: a word belongs to one person, and nothing here tells which draw a
glass holds. What a word means in the house's lexicon stands in `panel.store.word_matches`.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.store.base import FINITE, Bound
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving


class OwnWord(Bound):
    """A word that one assessor named in one session; its place is that of its line."""

    __tablename__ = "own_word"
    __table_args__ = (
        UniqueConstraint("session_id", "person_id", "place"),
        UniqueConstraint("session_id", "person_id", "word"),
        CheckConstraint("word <> ''", name="word_not_empty"),
        CheckConstraint("place >= 1", name="place_from_one"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"))
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    place: Mapped[int]
    word: Mapped[str]
    named_at: Mapped[datetime]

    session: Mapped[PanelSession] = relationship()
    person: Mapped[Person] = relationship()


class OwnScore(Bound):
    """The score of a glass on an own word that counts: the last one given."""

    __tablename__ = "own_score"
    __table_args__ = (CheckConstraint("value >= 0 AND value <= 100", name="value_on_the_line"),)

    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"), primary_key=True)
    own_word_id: Mapped[int] = mapped_column(ForeignKey("own_word.id"), primary_key=True)
    value: Mapped[float]
    given_at: Mapped[datetime]

    serving: Mapped[Serving] = relationship()
    own_word: Mapped[OwnWord] = relationship()


class OwnScoreChange(Bound):
    """Every score on an own word, in order; `value` is empty where it was cleared."""

    __tablename__ = "own_score_change"
    __table_args__ = (
        Index("ix_own_score_change_line", "serving_id", "own_word_id"),
        CheckConstraint(FINITE, name="value_finite"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"))
    own_word_id: Mapped[int] = mapped_column(ForeignKey("own_word.id"), index=True)
    value: Mapped[float | None]
    changed_at: Mapped[datetime]
    by_code: Mapped[str]
