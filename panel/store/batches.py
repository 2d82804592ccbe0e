"""Batch after batch: which batch a release follows, and the blind check of both."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.store.base import Bound
from panel.store.draws import Draw
from panel.store.releases import Release


class ReleaseBatch(Bound):
    """A release that is to be as the batch before it.

    Once a blind check is planned it has the two samples that are held against each other, in
    whichever sessions pour both; once one is revealed and looked at, what was found.
    """

    __tablename__ = "release_batch"
    __table_args__ = (
        CheckConstraint("release_id <> before_id", name="another_release"),
        CheckConstraint("within_points > 0", name="within_positive"),
        CheckConstraint("(found_json IS NULL) = (found_on IS NULL)", name="found_has_day"),
        CheckConstraint("(sample_id IS NULL) = (before_sample_id IS NULL)", name="two_samples"),
    )

    release_id: Mapped[int] = mapped_column(ForeignKey("release.id"), primary_key=True)
    before_id: Mapped[int] = mapped_column(ForeignKey("release.id"), index=True)
    within_points: Mapped[float]
    sample_id: Mapped[int | None] = mapped_column(ForeignKey("draw.id"))
    before_sample_id: Mapped[int | None] = mapped_column(ForeignKey("draw.id"))
    found_json: Mapped[str | None]
    found_on: Mapped[date | None]

    release: Mapped[Release] = relationship(foreign_keys=[release_id])
    before: Mapped[Release] = relationship(foreign_keys=[before_id])
    sample: Mapped[Draw | None] = relationship(foreign_keys=[sample_id])
    before_sample: Mapped[Draw | None] = relationship(foreign_keys=[before_sample_id])
