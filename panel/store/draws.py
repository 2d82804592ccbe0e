"""Draws: what is poured into glasses, from a cask, a reference, a trial vatting or a bottle."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.kinds import Clarity, DrawKind
from panel.store.base import Bound, OpenChoice, choice
from panel.store.casks import Filling


class Draw(Bound):
    """A sample. Its label is what score files call `sample`: one label, one liquid.

    `colour` and `clarity` are the pourer's: whoever scores sees them nowhere before the reveal.
    """

    __tablename__ = "draw"
    __table_args__ = (
        CheckConstraint("label <> ''", name="label_not_empty"),
        CheckConstraint("abv IS NULL OR (abv > 0 AND abv <= 100)", name="abv_in_range"),
        CheckConstraint("volume_ml IS NULL OR volume_ml > 0", name="volume_ml_positive"),
        CheckConstraint("reduced_to IS NULL OR reduced_to > 0", name="reduced_to_positive"),
        CheckConstraint("(kind = 'cask') = (filling_id IS NOT NULL)", name="filling_if_cask"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    label: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[DrawKind] = mapped_column(choice(DrawKind, "draw_kind"))
    filling_id: Mapped[int | None] = mapped_column(ForeignKey("filling.id"), index=True)
    batch: Mapped[str | None]
    drawn_on: Mapped[date | None]
    abv: Mapped[float | None]
    volume_ml: Mapped[float | None]
    reduced_to: Mapped[float | None]
    note: Mapped[str | None]
    reason: Mapped[str | None]
    fate: Mapped[str | None]
    colour: Mapped[str | None]
    clarity: Mapped[Clarity | None] = mapped_column(OpenChoice(Clarity))

    filling: Mapped[Filling | None] = relationship()
    parts: Mapped[list[DrawPart]] = relationship(
        back_populates="draw", cascade="all, delete-orphan"
    )


class DrawPart(Bound):
    """One cask's share in a trial vatting."""

    __tablename__ = "draw_part"
    __table_args__ = (CheckConstraint("millilitres > 0", name="millilitres_positive"),)

    draw_id: Mapped[int] = mapped_column(ForeignKey("draw.id"), primary_key=True)
    filling_id: Mapped[int] = mapped_column(ForeignKey("filling.id"), primary_key=True)
    millilitres: Mapped[float]

    draw: Mapped[Draw] = relationship(back_populates="parts")
    filling: Mapped[Filling] = relationship()


class RegisterReversal(Bound):
    """A line of the register as it stood before somebody reversed it, and why.

    The draw holds what stands now; the lines before it are these, oldest first.
    """

    __tablename__ = "register_reversal"
    __table_args__ = (CheckConstraint("because <> ''", name="because_not_empty"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    draw_id: Mapped[int] = mapped_column(ForeignKey("draw.id"), index=True)
    millilitres: Mapped[float | None]
    reason: Mapped[str | None]
    fate: Mapped[str | None]
    reversed_at: Mapped[datetime]
    by_code: Mapped[str]
    because: Mapped[str]

    draw: Mapped[Draw] = relationship()
