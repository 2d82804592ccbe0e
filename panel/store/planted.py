"""What is planted among the glasses of passing sessions, and which holds these set.

It says which liquid is spiked, so no booth reads it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, func, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from panel.kinds import Fault
from panel.store.base import Bound, OpenChoice
from panel.store.casks import HoldChange
from panel.store.draws import Draw

SHEET_IF_SPIKED = (
    "fault IS NULL OR (stock IS NOT NULL AND stock <> '' "
    "AND safety_sheet IS NOT NULL AND safety_sheet <> '')"
)


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


def planted_among(db: Session, draws: Collection[int]) -> Mapping[int, Planted]:
    """Return by draw what is planted of some draws."""
    rows = db.scalars(select(Planted).where(Planted.draw_id.in_(draws)))
    return {row.draw_id: row for row in rows}


def bases_of(db: Session, draws: Collection[int]) -> Mapping[int, Draw]:
    """Return by draw the known-sound draw that a spike was made on: its make and its peat."""
    return {
        draw_id: row.base
        for draw_id, row in planted_among(db, draws).items()
        if row.base is not None
    }


def all_planted(db: Session) -> list[Planted]:
    """Return everything that was ever made up to be planted, by name."""
    return list(db.scalars(select(Planted).join(Planted.draw).order_by(Draw.label)))


def standing_holds(db: Session, fillings: Iterable[int] | None = None) -> dict[int, PassingHold]:
    """Return by filling the newest hold that passing set and nobody lifted since."""
    asked = select(PassingHold, HoldChange).join(
        HoldChange, HoldChange.id == PassingHold.hold_change_id
    )
    if fillings is not None:
        asked = asked.where(HoldChange.filling_id.in_(set(fillings)))
    newest: dict[int, PassingHold] = {}
    for hold, change in db.execute(asked.order_by(HoldChange.id)):
        newest[change.filling_id] = hold
    last = (
        select(HoldChange.filling_id, func.max(HoldChange.id))
        .where(HoldChange.filling_id.in_(newest), HoldChange.reason.is_(None))
        .group_by(HoldChange.filling_id)
    )
    lifted = {filling: change for filling, change in db.execute(last)}
    return {
        filling: hold
        for filling, hold in newest.items()
        if lifted.get(filling, 0) < hold.hold_change_id
    }
