"""The lexicon as a list: every descriptor with its versions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.store.lexicon import Descriptor, DescriptorVersion

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class VersionLine:
    """One version of a descriptor."""

    version: int
    stage: str
    low_words: str
    high_words: str
    meaning: str
    recipe: str
    pools_with_previous: bool
    ought_to_be_absent: bool
    introduced_on: date | None
    retired_on: date | None


@dataclass(frozen=True)
class DescriptorLine:
    """A descriptor with all its versions, oldest first."""

    name: str
    versions: tuple[VersionLine, ...]

    @property
    def newest(self) -> VersionLine:
        """The version that counts now."""
        return self.versions[-1]

    def is_retired(self, on: date) -> bool:
        """Tell whether it is no longer scored on a date."""
        retired_on = self.newest.retired_on
        return retired_on is not None and retired_on <= on


def descriptor_lines(db: Session) -> list[DescriptorLine]:
    """Return the lexicon by name."""
    found = db.scalars(select(Descriptor).order_by(Descriptor.name))
    return [
        DescriptorLine(each.name, tuple(_version(version) for version in each.versions))
        for each in found
        if each.versions
    ]


def _version(version: DescriptorVersion) -> VersionLine:
    return VersionLine(
        version=version.version,
        stage=version.stage.value,
        low_words=version.low_words,
        high_words=version.high_words,
        meaning=version.meaning or "",
        recipe=version.reference_recipe or "",
        pools_with_previous=version.pools_with_previous,
        ought_to_be_absent=version.ought_to_be_absent,
        introduced_on=version.introduced_on,
        retired_on=version.retired_on,
    )
