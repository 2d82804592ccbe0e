"""The table of settings that the house has changed."""

from __future__ import annotations

from sqlalchemy.orm import Mapped, mapped_column

from panel.store.base import Bound


class HouseSetting(Bound):
    """A setting that differs from its default."""

    __tablename__ = "house_setting"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]
