"""Releases: the casks and litres chosen, what was predicted, and what really came of it."""

from __future__ import annotations

from datetime import date, datetime
from hashlib import sha256

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.kinds import ReleaseStatus
from panel.store.base import Bound, choice
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.targets import StoredTarget

RESERVING = (ReleaseStatus.PROPOSED, ReleaseStatus.SIGNED)


def digest_of_found(found_json: str | None) -> str:
    """Return the digest of what was found of a release, as the log keeps what was signed."""
    return sha256((found_json or "").encode()).hexdigest()


class Release(Bound):
    """Target, limits, the casks and litres chosen, what was predicted and what was found."""

    __tablename__ = "release"
    __table_args__ = (
        CheckConstraint("name <> ''", name="name_not_empty"),
        CheckConstraint("bottles IS NULL OR bottles > 0", name="bottles_positive"),
        CheckConstraint("abv IS NULL OR (abv > 0 AND abv <= 100)", name="abv_in_range"),
        CheckConstraint("bottle_ml > 0", name="bottle_ml_positive"),
        CheckConstraint("loss_fraction >= 0 AND loss_fraction < 1", name="loss_fraction_in_range"),
        CheckConstraint("vat_abv IS NULL OR (vat_abv > 0 AND vat_abv <= 100)", name="vat_abv_real"),
        CheckConstraint("signed_by IS NULL OR signed_by <> proposed_by", name="second_person"),
        CheckConstraint(
            "status NOT IN ('signed', 'bottled') OR lot_code IS NOT NULL", name="signed_has_lot"
        ),
        CheckConstraint(
            "lot_code IS NULL OR (signed_by IS NOT NULL AND disgorged_on IS NOT NULL)",
            name="lot_is_signed",
        ),
        CheckConstraint("status <> 'bottled' OR bottled_on IS NOT NULL", name="bottled_has_day"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    target_id: Mapped[int | None] = mapped_column(ForeignKey("target.id"))
    status: Mapped[ReleaseStatus] = mapped_column(choice(ReleaseStatus, "release_status"))
    planned_on: Mapped[date]
    proposed_by: Mapped[str]
    reason: Mapped[str | None]
    bottling_on: Mapped[date | None]
    age_statement_years: Mapped[int | None]
    bottles: Mapped[int | None]
    bottle_ml: Mapped[float] = mapped_column(default=700.0)
    abv: Mapped[float | None]
    loss_fraction: Mapped[float] = mapped_column(default=0.015)
    chill_filtered: Mapped[bool] = mapped_column(default=False)
    limits_json: Mapped[str | None]
    predicted_json: Mapped[str | None]
    disgorged_on: Mapped[date | None]
    disgorged_by: Mapped[str | None]
    vat_litres: Mapped[float | None]
    vat_abv: Mapped[float | None]
    found_json: Mapped[str | None]
    lot_code: Mapped[str | None] = mapped_column(unique=True)
    signed_by: Mapped[str | None]
    signed_at: Mapped[datetime | None]
    signed_despite: Mapped[str | None]
    bottled_on: Mapped[date | None]
    cancelled_on: Mapped[date | None]
    cancelled_because: Mapped[str | None]

    target: Mapped[StoredTarget | None] = relationship()
    parts: Mapped[list[ReleasePart]] = relationship(
        back_populates="release", cascade="all, delete-orphan"
    )
    benches: Mapped[list[ReleaseBench]] = relationship(
        back_populates="release", cascade="all, delete-orphan", order_by="ReleaseBench.draw_id"
    )


class ReleasePart(Bound):
    """Litres of one filling in a release: as planned, and as the cask really gave them.

    `whole` says that the cask is to be empty afterwards; once disgorged, that it is.
    """

    __tablename__ = "release_part"
    __table_args__ = (
        CheckConstraint("litres > 0", name="litres_positive"),
        CheckConstraint("given_l IS NULL OR given_l >= 0", name="given_l_not_negative"),
        CheckConstraint("given_abv IS NULL OR (given_abv > 0 AND given_abv <= 100)", name="abv"),
    )

    release_id: Mapped[int] = mapped_column(ForeignKey("release.id"), primary_key=True)
    filling_id: Mapped[int] = mapped_column(ForeignKey("filling.id"), primary_key=True, index=True)
    litres: Mapped[float]
    abv: Mapped[float | None]
    whole: Mapped[bool] = mapped_column(default=False)
    given_l: Mapped[float | None]
    given_abv: Mapped[float | None]

    release: Mapped[Release] = relationship(back_populates="parts")
    filling: Mapped[Filling] = relationship()


class ReleaseBench(Bound):
    """A trial draw that was mixed on the bench for a release."""

    __tablename__ = "release_bench"

    release_id: Mapped[int] = mapped_column(ForeignKey("release.id"), primary_key=True)
    draw_id: Mapped[int] = mapped_column(ForeignKey("draw.id"), primary_key=True)

    release: Mapped[Release] = relationship(back_populates="benches")
    draw: Mapped[Draw] = relationship()
