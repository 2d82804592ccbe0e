"""The table of settings that the house has changed."""

from __future__ import annotations

from typing import ClassVar

from sqlalchemy.orm import Mapped, mapped_column

from panel.kinds import EditedList
from panel.store.base import Bound
from panel.store.list_edits import Listed


class HouseSetting(Listed, Bound):
    """A setting that differs from its default."""

    __tablename__ = "house_setting"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]

    EDITED: ClassVar[EditedList] = EditedList.SETTINGS
    TOLD: ClassVar[tuple[str, ...]] = ("value",)

    def listed(self) -> tuple[str, str]:
        """Return its name."""
        return self.name, ""
