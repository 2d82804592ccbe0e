"""Plans of the stock: releases by year, and the casks that were last chosen for them."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.store.base import Bound
from panel.store.casks import Filling
from panel.store.targets import StoredTarget


class StoredPlan(Bound):
    """A plan of the stock over some years; it reserves nothing.

    `limits` holds for the plan as a whole, as it was typed. Once a choice of casks was kept it has
    the day, and what that choice came to.
    """

    __tablename__ = "stock_plan"
    __table_args__ = (
        CheckConstraint("name <> ''", name="name_not_empty"),
        CheckConstraint("(found_json IS NULL) = (kept_on IS NULL)", name="found_has_day"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    limits: Mapped[str | None]
    found_json: Mapped[str | None]
    kept_on: Mapped[date | None]

    releases: Mapped[list[PlannedRelease]] = relationship(
        back_populates="plan", cascade="all, delete-orphan", order_by="PlannedRelease.place"
    )
    parts: Mapped[list[PlannedPart]] = relationship(
        back_populates="plan", cascade="all, delete-orphan", order_by="PlannedPart.place"
    )


class PlannedRelease(Bound):
    """One release of a plan: its year, what it should be like, how much, and its limits."""

    __tablename__ = "planned_release"
    __table_args__ = (
        UniqueConstraint("plan_id", "name"),
        CheckConstraint("name <> ''", name="name_not_empty"),
        CheckConstraint("place >= 1", name="place_from_one"),
        CheckConstraint("bottles > 0", name="bottles_positive"),
        CheckConstraint("abv > 0 AND abv <= 100", name="abv_in_range"),
        CheckConstraint("age_years IS NULL OR age_years >= 0", name="age_not_negative"),
    )

    plan_id: Mapped[int] = mapped_column(ForeignKey("stock_plan.id"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    year: Mapped[int]
    target_id: Mapped[int] = mapped_column(ForeignKey("target.id"), index=True)
    bottles: Mapped[int]
    abv: Mapped[float]
    age_years: Mapped[int | None]
    rule_set: Mapped[str | None]
    limits: Mapped[str | None]

    plan: Mapped[StoredPlan] = relationship(back_populates="releases")
    target: Mapped[StoredTarget] = relationship()


class PlannedPart(Bound):
    """Litres of one filling in a release of a plan, as last kept; `held_l` is what lay in it.

    `place` is that of the release.
    """

    __tablename__ = "planned_part"
    __table_args__ = (
        CheckConstraint("litres > 0", name="litres_positive"),
        CheckConstraint("held_l > 0", name="held_l_positive"),
        CheckConstraint("abv > 0 AND abv <= 100", name="abv_in_range"),
    )

    plan_id: Mapped[int] = mapped_column(ForeignKey("stock_plan.id"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)
    filling_id: Mapped[int] = mapped_column(ForeignKey("filling.id"), primary_key=True, index=True)
    litres: Mapped[float]
    held_l: Mapped[float]
    abv: Mapped[float]

    plan: Mapped[StoredPlan] = relationship(back_populates="parts")
    filling: Mapped[Filling] = relationship()
