"""Matters of the review that somebody has seen to."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.store.base import Bound
from panel.store.casks import Filling


class ReviewTick(Bound):
    """A matter of one filling that was seen to; it comes back with a newer record alone.

    `reason` is what the review calls it, `stands_on` the day of the record that it stood on.
    """

    __tablename__ = "review_tick"
    __table_args__ = (
        UniqueConstraint("filling_id", "reason", "stands_on"),
        CheckConstraint("reason <> ''", name="reason_not_empty"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    filling_id: Mapped[int] = mapped_column(ForeignKey("filling.id"), index=True)
    reason: Mapped[str]
    stands_on: Mapped[date]
    done_at: Mapped[datetime]
    by_code: Mapped[str]
    note: Mapped[str | None]

    filling: Mapped[Filling] = relationship()
