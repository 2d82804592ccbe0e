"""Targets: what a release should be like."""

from __future__ import annotations

from typing import ClassVar

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.kinds import EditedList
from panel.store.base import Bound
from panel.store.lexicon import Descriptor
from panel.store.list_edits import Listed


class StoredTarget(Listed, Bound):
    """What a release should be like."""

    __tablename__ = "target"
    __table_args__ = (CheckConstraint("name <> ''", name="name_not_empty"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    lines: Mapped[list[StoredTargetLine]] = relationship(
        back_populates="target", cascade="all, delete-orphan", order_by="StoredTargetLine.place"
    )

    EDITED: ClassVar[EditedList] = EditedList.TARGETS

    def listed(self) -> tuple[str, str]:
        """Return its name."""
        return self.name, ""


class StoredTargetLine(Listed, Bound):
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

    target: Mapped[StoredTarget] = relationship(back_populates="lines")
    descriptor: Mapped[Descriptor] = relationship()

    EDITED: ClassVar[EditedList] = EditedList.TARGETS
    TOLD: ClassVar[tuple[str, ...]] = ("place", "aim", "tolerance", "weight")

    def listed(self) -> tuple[str, str]:
        """Return the target and the descriptor."""
        return self.whose("target").name, self.whose("descriptor").name
