"""What a passing session tells its noses: the one thing of it that is for the booths."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from panel.store.base import Bound


class Passing(Bound):
    """Make, wood and year of what is passed as the noses are told, never the cask.

    `air_s` is the air between two blocks; `again_of_id` the session whose holds are nosed again.
    """

    __tablename__ = "passing"
    __table_args__ = (
        CheckConstraint("told <> ''", name="told_not_empty"),
        CheckConstraint("air_s >= 0", name="air_s_not_negative"),
    )

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    told: Mapped[str]
    parcel: Mapped[str | None]
    air_s: Mapped[int]
    again_of_id: Mapped[int | None] = mapped_column(ForeignKey("panel_session.id"))
