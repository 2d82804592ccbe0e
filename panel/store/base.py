"""The base of all tables: named constraints, UTC moments, enums held by a check."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import DateTime, Dialect, Enum, MetaData
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.types import TypeDecorator

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class UtcMoment(TypeDecorator[datetime]):
    """A moment, aware in Python, stored as UTC without an offset."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware moment into UTC; refuse one without a zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without a time zone cannot be stored")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Give the moment back with its zone."""
        return None if value is None else value.replace(tzinfo=UTC)


def choice(kind: type[StrEnum], name: str) -> Enum:
    """Return a text column type that a named check holds to the values of *kind*."""
    return Enum(
        kind,
        native_enum=False,
        create_constraint=True,
        name=name,
        length=max(len(member.value) for member in kind),
        values_callable=lambda members: [member.value for member in members],
    )


class Base(DeclarativeBase):
    """All tables share one metadata, so that migrations see them together."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map: dict[Any, Any] = {datetime: UtcMoment()}  # noqa: RUF012
