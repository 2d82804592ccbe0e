"""The tables of rules of law that a house has changed."""

from __future__ import annotations

from typing import ClassVar

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.kinds import EditedList, RuleKind
from panel.store.base import Bound, choice
from panel.store.list_edits import Listed


class RuleSet(Listed, Bound):
    """A set that differs from what comes with the program, or one of the house's own."""

    __tablename__ = "rule_set"
    __table_args__ = (CheckConstraint("name <> ''", name="name_not_empty"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    in_force: Mapped[bool]
    lines: Mapped[list[RuleLine]] = relationship(
        back_populates="rule_set", cascade="all, delete-orphan", order_by="RuleLine.kind"
    )

    EDITED: ClassVar[EditedList] = EditedList.RULES
    TOLD: ClassVar[tuple[str, ...]] = ("in_force",)

    def listed(self) -> tuple[str, str]:
        """Return its name."""
        return self.name, ""


class RuleLine(Listed, Bound):
    """One rule of a set; without a value it was struck out."""

    __tablename__ = "rule_line"
    __table_args__ = (
        CheckConstraint("value IS NULL OR value >= 0", name="value_not_negative"),
        CheckConstraint("cites <> ''", name="cites_its_law"),
    )

    rule_set_id: Mapped[int] = mapped_column(ForeignKey("rule_set.id"), primary_key=True)
    kind: Mapped[RuleKind] = mapped_column(choice(RuleKind, "rule_kind"), primary_key=True)
    value: Mapped[float | None]
    cites: Mapped[str]

    rule_set: Mapped[RuleSet] = relationship(back_populates="lines")

    EDITED: ClassVar[EditedList] = EditedList.RULES
    TOLD: ClassVar[tuple[str, ...]] = ("value", "cites")

    def listed(self) -> tuple[str, str]:
        """Return the set and the rule."""
        return self.whose("rule_set").name, self.kind.value
