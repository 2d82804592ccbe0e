"""What a passing session tells its noses, what is planted among its glasses, which holds it set.

Only `Passing` is for the booths; the others say which liquid is spiked, so a booth reads neither.
"""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.kinds import Fault
from panel.store.base import Bound, OpenChoice
from panel.store.casks import HoldChange
from panel.store.draws import Draw

SHEET_IF_SPIKED = (
    "fault IS NULL OR (stock IS NOT NULL AND stock <> '' "
    "AND safety_sheet IS NOT NULL AND safety_sheet <> '')"
)


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


class Planted(Bound):
    """A draw that is poured to try the nose: spiked with a fault, or known to be sound.

    A spike stands on the draw of a known-sound spirit; `stock` says what was added and how much,
    `safety_sheet` where its sheet lies, `made_by` is the code of the trained person.
    """

    __tablename__ = "planted"
    __table_args__ = (
        CheckConstraint("made_by <> ''", name="made_by_not_empty"),
        CheckConstraint("(fault IS NULL) = (base_draw_id IS NULL)", name="base_if_spiked"),
        CheckConstraint(SHEET_IF_SPIKED, name="sheet_if_spiked"),
    )

    draw_id: Mapped[int] = mapped_column(ForeignKey("draw.id"), primary_key=True)
    fault: Mapped[Fault | None] = mapped_column(OpenChoice(Fault))
    base_draw_id: Mapped[int | None] = mapped_column(ForeignKey("draw.id"), index=True)
    stock: Mapped[str | None]
    safety_sheet: Mapped[str | None]
    made_by: Mapped[str]
    made_on: Mapped[date]

    draw: Mapped[Draw] = relationship(foreign_keys=[draw_id])
    base: Mapped[Draw | None] = relationship(foreign_keys=[base_draw_id])


class PassingHold(Bound):
    """A hold that the reveal of a passing session set: it takes a second nosing to lift it."""

    __tablename__ = "passing_hold"

    hold_change_id: Mapped[int] = mapped_column(ForeignKey("hold_change.id"), primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), index=True)

    hold_change: Mapped[HoldChange] = relationship()
