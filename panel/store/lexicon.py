"""The house lexicon: descriptors and their versions."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint, false, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from panel.kinds import EditedList, Stage
from panel.store.base import Bound, choice
from panel.store.list_edits import Listed


class Descriptor(Listed, Bound):
    """A word of the house; what it means stands in its versions."""

    __tablename__ = "descriptor"
    __table_args__ = (CheckConstraint("name <> ''", name="name_not_empty"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    versions: Mapped[list[DescriptorVersion]] = relationship(
        back_populates="descriptor", order_by="DescriptorVersion.version"
    )

    EDITED: ClassVar[EditedList] = EditedList.LEXICON

    def listed(self) -> tuple[str, str]:
        """Return its name."""
        return self.name, ""


class DescriptorVersion(Listed, Bound):
    """What a descriptor meant from a date on. A retired one keeps its scores.

    Some are there to be missed: a fault ought to be absent, and is no worse a note for being so.
    """

    __tablename__ = "descriptor_version"
    __table_args__ = (
        UniqueConstraint("descriptor_id", "version"),
        CheckConstraint("version >= 1", name="version_from_one"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    descriptor_id: Mapped[int] = mapped_column(ForeignKey("descriptor.id"))
    version: Mapped[int]
    meaning: Mapped[str | None]
    reference_recipe: Mapped[str | None]
    stage: Mapped[Stage] = mapped_column(choice(Stage, "stage"))
    low_words: Mapped[str]
    high_words: Mapped[str]
    pools_with_previous: Mapped[bool] = mapped_column(default=False)
    ought_to_be_absent: Mapped[bool] = mapped_column(default=False, server_default=false())
    introduced_on: Mapped[date | None]
    retired_on: Mapped[date | None]

    descriptor: Mapped[Descriptor] = relationship(back_populates="versions")

    EDITED: ClassVar[EditedList] = EditedList.LEXICON
    TOLD: ClassVar[tuple[str, ...]] = (
        *("meaning", "reference_recipe", "stage", "low_words", "high_words"),
        *("pools_with_previous", "ought_to_be_absent", "introduced_on", "retired_on"),
    )

    def listed(self) -> tuple[str, str]:
        """Return the descriptor and which version."""
        return self.whose("descriptor").name, str(self.version)


def fault_notes(db: Session) -> set[str]:
    """Return the descriptors that ought to be absent, by what their newest version says."""
    found = db.execute(
        select(Descriptor.name, DescriptorVersion.ought_to_be_absent)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
        .order_by(DescriptorVersion.version)
    )
    newest = {name: absent for name, absent in found}
    return {name for name, absent in newest.items() if absent}


def end_words(db: Session) -> dict[str, tuple[str, str]]:
    """Return the words at both ends of each descriptor's line, by its newest version."""
    found = db.execute(
        select(Descriptor.name, DescriptorVersion.low_words, DescriptorVersion.high_words)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
        .order_by(DescriptorVersion.version)
    )
    return {name: (low, high) for name, low, high in found}


def meanings(db: Session) -> dict[str, str | None]:
    """Return what each descriptor means, by its newest version."""
    found = db.execute(
        select(Descriptor.name, DescriptorVersion.meaning)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
        .order_by(DescriptorVersion.version)
    )
    return {name: meaning for name, meaning in found}
