"""Sessions that are nosed at another site: what was sent or came, and the spirit that went with it.

The same tables stand in the house that sends a pack and in the database it is opened into there;
`came` says which side it is. A pack tells codes and lines alone, and so do these tables. No booth
reads them: the secret by which a return is known stands here.
"""

from __future__ import annotations

from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from panel.store.base import Bound, OpenChoice
from panel.store.people import Person
from panel.store.sessions import PanelSession


class Moved(StrEnum):
    """What becomes of spirit that is nosed at another site."""

    SENT = "sent"
    RECEIVED = "received"
    DESTROYED = "destroyed"


class SitePack(Bound):
    """A pack of a session's seats, as the house sent it or as it came to a site (`came`).

    `settled_at` is when its return was joined at home, at a site when the return was written.
    `held_on` is the day on which it was nosed there, known at home from the return.
    """

    __tablename__ = "site_pack"
    __table_args__ = (
        UniqueConstraint("pack_hex"),
        CheckConstraint("site <> ''", name="site_not_empty"),
        CheckConstraint("water <> ''", name="water_not_empty"),
        CheckConstraint(
            "(recalled_at IS NULL) = (recalled_because IS NULL)", name="recalled_with_a_reason"
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), index=True)
    came: Mapped[bool] = mapped_column(default=False)
    pack_hex: Mapped[str]
    house_hex: Mapped[str]
    file_hash: Mapped[str]
    secret_hex: Mapped[str]
    site: Mapped[str]
    water: Mapped[str]
    made_at: Mapped[datetime]
    by_code: Mapped[str]
    nose_by: Mapped[date]
    held_on: Mapped[date | None]
    settled_at: Mapped[datetime | None]
    return_hash: Mapped[str | None]
    site_head_hex: Mapped[str | None]
    recalled_at: Mapped[datetime | None]
    recalled_because: Mapped[str | None]

    session: Mapped[PanelSession] = relationship()
    seats: Mapped[list[PackSeat]] = relationship(
        back_populates="pack", order_by="PackSeat.seat", cascade="all, delete-orphan"
    )
    amounts: Mapped[list[PackAmount]] = relationship(
        back_populates="pack", cascade="all, delete-orphan"
    )

    @property
    def is_away(self) -> bool:
        """Whether its return may still come."""
        return not self.came and self.settled_at is None and self.recalled_at is None


class PackSeat(Bound):
    """A seat that a pack carries."""

    __tablename__ = "pack_seat"

    pack_id: Mapped[int] = mapped_column(ForeignKey("site_pack.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    seat: Mapped[int]

    pack: Mapped[SitePack] = relationship(back_populates="seats")
    person: Mapped[Person] = relationship()


class PackAmount(Bound):
    """Millilitres of a pack that were sent, received or destroyed, at one strength."""

    __tablename__ = "pack_amount"
    __table_args__ = (
        CheckConstraint("millilitres >= 0", name="millilitres_not_negative"),
        CheckConstraint("abv > 0 AND abv <= 100", name="abv_in_range"),
    )

    pack_id: Mapped[int] = mapped_column(ForeignKey("site_pack.id"), primary_key=True)
    moved: Mapped[Moved] = mapped_column(OpenChoice(Moved), primary_key=True)
    millilitres: Mapped[float]
    abv: Mapped[float]
    moved_on: Mapped[date]
    by_code: Mapped[str]

    pack: Mapped[SitePack] = relationship(back_populates="amounts")


def packs_of(db: Session, session_id: int) -> list[SitePack]:
    """Return the packs of a session in the order in which they were made."""
    asked = select(SitePack).where(SitePack.session_id == session_id)
    return list(db.scalars(asked.order_by(SitePack.id)))


def sent_ml(pack: SitePack) -> float:
    """Return how many mL were sent with a pack."""
    return next((row.millilitres for row in pack.amounts if row.moved is Moved.SENT), 0.0)


def pack_it_came_in(db: Session, session_id: int) -> SitePack | None:
    """Return the pack that brought a session here; None for one of the house's own."""
    return next((pack for pack in packs_of(db, session_id) if pack.came), None)


def away_packs(db: Session, session_id: int) -> list[SitePack]:
    """Return the packs of a session whose return may still come."""
    return [pack for pack in packs_of(db, session_id) if pack.is_away]
