"""Targets and releases."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.store.base import Base, choice
from panel.store.casks import Filling
from panel.store.lexicon import Descriptor


class Target(Base):
    """What a release should be like."""

    __tablename__ = "target"
    __table_args__ = (CheckConstraint("name <> ''", name="name_not_empty"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    lines: Mapped[list[TargetLine]] = relationship(
        back_populates="target", cascade="all, delete-orphan", order_by="TargetLine.place"
    )


class TargetLine(Base):
    """Aim, tolerance and weight of one descriptor."""

    __tablename__ = "target_line"
    __table_args__ = (
        CheckConstraint("aim >= 0 AND aim <= 100", name="aim_on_scale"),
        CheckConstraint("tolerance > 0", name="tolerance_positive"),
        CheckConstraint("weight > 0", name="weight_positive"),
    )

    target_id: Mapped[int] = mapped_column(ForeignKey("target.id"), primary_key=True)
    descriptor_id: Mapped[int] = mapped_column(ForeignKey("descriptor.id"), primary_key=True)
    place: Mapped[int]
    aim: Mapped[float]
    tolerance: Mapped[float]
    weight: Mapped[float] = mapped_column(default=1.0)

    target: Mapped[Target] = relationship(back_populates="lines")
    descriptor: Mapped[Descriptor] = relationship()


class ReleaseStatus(StrEnum):
    """Where a release stands."""

    PROPOSED = "proposed"
    SIGNED = "signed"
    BOTTLED = "bottled"


class Release(Base):
    """Target, limits, the casks and litres chosen, what was predicted and what was found."""

    __tablename__ = "release"
    __table_args__ = (
        CheckConstraint("bottles IS NULL OR bottles > 0", name="bottles_positive"),
        CheckConstraint("abv IS NULL OR (abv > 0 AND abv <= 100)", name="abv_in_range"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    target_id: Mapped[int | None] = mapped_column(ForeignKey("target.id"))
    status: Mapped[ReleaseStatus] = mapped_column(choice(ReleaseStatus, "release_status"))
    planned_on: Mapped[date | None]
    bottles: Mapped[int | None]
    abv: Mapped[float | None]
    limits_json: Mapped[str | None]
    predicted_json: Mapped[str | None]
    found_json: Mapped[str | None]

    target: Mapped[Target | None] = relationship()
    parts: Mapped[list[ReleasePart]] = relationship(
        back_populates="release", cascade="all, delete-orphan"
    )


class ReleasePart(Base):
    """Litres of one filling in a release."""

    __tablename__ = "release_part"
    __table_args__ = (CheckConstraint("litres > 0", name="litres_positive"),)

    release_id: Mapped[int] = mapped_column(ForeignKey("release.id"), primary_key=True)
    filling_id: Mapped[int] = mapped_column(ForeignKey("filling.id"), primary_key=True)
    litres: Mapped[float]

    release: Mapped[Release] = relationship(back_populates="parts")
    filling: Mapped[Filling] = relationship()
