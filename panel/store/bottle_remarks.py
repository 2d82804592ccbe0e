"""What people outside said of bottles, and the bottles of a lot that the house has."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from panel.kinds import BottleKind, RemarkKind
from panel.store.base import Bound, choice
from panel.store.draws import Draw
from panel.store.releases import Release


class BottleRemark(Bound):
    """A remark or complaint on a bottle of a release.

    Who made it stands apart (`RemarkPerson`), so that it can go while the remark stays.
    """

    __tablename__ = "bottle_remark"
    __table_args__ = (
        CheckConstraint("said <> ''", name="said_not_empty"),
        CheckConstraint("closed_on IS NULL OR outcome IS NOT NULL", name="closed_has_outcome"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    release_id: Mapped[int] = mapped_column(ForeignKey("release.id"), index=True)
    kind: Mapped[RemarkKind] = mapped_column(choice(RemarkKind, "remark_kind"))
    made_on: Mapped[date]
    said: Mapped[str]
    kept_on: Mapped[date]
    by_code: Mapped[str]
    told_safety_on: Mapped[date | None]
    outcome: Mapped[str | None]
    closed_on: Mapped[date | None]

    release: Mapped[Release] = relationship()
    person: Mapped[RemarkPerson | None] = relationship(
        back_populates="remark", cascade="all, delete-orphan"
    )
    bottles: Mapped[list[LotBottle]] = relationship(
        back_populates="remark", order_by="LotBottle.id"
    )


class RemarkPerson(Bound):
    """Who made a remark: somebody outside the house, named only as long as an answer is owed."""

    __tablename__ = "remark_person"

    remark_id: Mapped[int] = mapped_column(ForeignKey("bottle_remark.id"), primary_key=True)
    outside_name: Mapped[str]
    reach: Mapped[str | None]

    remark: Mapped[BottleRemark] = relationship(back_populates="person")


class LotBottle(Bound):
    """A bottle of a release in the house: kept back, unopened, or come back opened.

    One that came back opened has no sample: nobody is ever poured of it.
    """

    __tablename__ = "lot_bottle"
    __table_args__ = (
        CheckConstraint("kind <> 'came back opened' OR draw_id IS NULL", name="opened_not_poured"),
        CheckConstraint("place <> ''", name="place_not_empty"),
        CheckConstraint("gone_on IS NULL OR gone_to IS NOT NULL", name="gone_says_where"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    release_id: Mapped[int] = mapped_column(ForeignKey("release.id"), index=True)
    kind: Mapped[BottleKind] = mapped_column(choice(BottleKind, "bottle_kind"))
    place: Mapped[str]
    kept_on: Mapped[date]
    remark_id: Mapped[int | None] = mapped_column(ForeignKey("bottle_remark.id"), index=True)
    draw_id: Mapped[int | None] = mapped_column(ForeignKey("draw.id"), index=True)
    gone_on: Mapped[date | None]
    gone_to: Mapped[str | None]

    release: Mapped[Release] = relationship()
    remark: Mapped[BottleRemark | None] = relationship(back_populates="bottles")
    draw: Mapped[Draw | None] = relationship()


def open_safety_remarks(db: Session, release: Release) -> tuple[BottleRemark, ...]:
    """Return the remarks on a lot that may be about somebody's harm and that nobody has closed."""
    remarks = select(BottleRemark).where(
        BottleRemark.release_id == release.id, BottleRemark.closed_on.is_(None)
    )
    found = db.scalars(remarks.order_by(BottleRemark.id))
    return tuple(remark for remark in found if remark.kind.concerns_safety)


def release_of_draw(db: Session, draw: Draw) -> Release | None:
    """Return the release that a sample is a bottle of; None of what is no bottle of the house."""
    bottle = db.scalars(select(LotBottle).where(LotBottle.draw_id == draw.id)).first()
    return None if bottle is None else bottle.release
