"""How each note mixes, as this house has it from its own bench blends or set by hand."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.store.base import Bound
from panel.store.lexicon import Descriptor


class MixingNote(Bound):
    """Exponent and gain of one descriptor, what the panel as a whole may be off, and its source."""

    __tablename__ = "mixing_note"
    __table_args__ = (
        CheckConstraint("exponent > 0", name="exponent_positive"),
        CheckConstraint("gain > 0", name="gain_positive"),
        CheckConstraint("panel_sd IS NULL OR panel_sd >= 0", name="panel_sd_not_negative"),
    )

    descriptor_id: Mapped[int] = mapped_column(ForeignKey("descriptor.id"), primary_key=True)
    exponent: Mapped[float]
    gain: Mapped[float] = mapped_column(default=1.0)
    panel_sd: Mapped[float | None]
    source: Mapped[str]
    kept_on: Mapped[date]

    descriptor: Mapped[Descriptor] = relationship()
