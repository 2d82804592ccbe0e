"""Answers on glasses that are no scores on a line: a place in a set, a choice.

What a value means is the kind's to say (`panel.kinds`). A booth may read and write these: nothing
here tells which draw a glass holds.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.store.base import FINITE, Bound
from panel.store.sessions import Serving

ONLY_QUESTION = 1
"""The number of the question in a session that asks one thing of each glass."""
LOWEST, HIGHEST = 0.0, 100.0


class Answer(Bound):
    """The answer on a glass that counts: the last one given."""

    __tablename__ = "answer"
    __table_args__ = (
        CheckConstraint("question >= 1", name="question_from_one"),
        CheckConstraint("value >= 0 AND value <= 100", name="value_in_range"),
    )

    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"), primary_key=True)
    question: Mapped[int] = mapped_column(primary_key=True)
    value: Mapped[float]
    given_at: Mapped[datetime]

    serving: Mapped[Serving] = relationship()


class AnswerChange(Bound):
    """Every answer ever given or taken back, in order; `value` is empty where it was cleared."""

    __tablename__ = "answer_change"
    __table_args__ = (
        Index("ix_answer_change_question", "serving_id", "question"),
        CheckConstraint(FINITE, name="value_finite"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"))
    question: Mapped[int]
    value: Mapped[float | None]
    changed_at: Mapped[datetime]
    by_code: Mapped[str]
