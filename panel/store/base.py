"""The base of all tables: named constraints, UTC moments, enums held by a check."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any, Generic, TypeVar

from sqlalchemy import DateTime, Dialect, Enum, MetaData, String
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

from panel.errors import NewerDatabase

Choice = TypeVar("Choice", bound=StrEnum)

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}

LARGEST = 1.7e308
"""Beyond it lies infinity alone, near enough; both databases sort what is no number above it."""
FINITE = f"value BETWEEN -{LARGEST} AND {LARGEST}"
"""Said of a score: no infinity, no text, nothing that is no number."""
ALONE = "id = 1"
"""Said of a table that has one row."""


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


class OpenChoice(TypeDecorator[Choice], Generic[Choice]):
    """A text that the program, not the table, holds to the values of an enum.

    So that a later program may know more of them without a change of the table.
    """

    impl = String
    cache_ok = True

    def __init__(self, kind: type[Choice]) -> None:
        super().__init__()
        self.kind = kind

    def process_bind_param(self, value: Choice | None, dialect: Dialect) -> str | None:
        """Write the value of a member; refuse what is none."""
        return None if value is None else self.kind(value).value

    def process_result_value(self, value: str | None, dialect: Dialect) -> Choice | None:
        """Give the member back.

        Raises
        ------
        NewerDatabase
            A later program wrote a value that this one does not know.
        """
        if value is None:
            return None
        try:
            return self.kind(value)
        except ValueError:
            raise NewerDatabase(
                f"The records hold {value!r}, which this Oakpanel does not know: a newer one wrote "
                "it. Nothing was changed. Install the newer version on this machine."
            ) from None


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


def new_nonce() -> str:
    """Return what makes the digest of a row one that nobody finds by trying values."""
    return secrets.token_hex(16)


class Bound(Base):
    """A table whose rows the log vouches for, each by a digest (see `panel.store.rows`).

    The nonce is new with every change of the row and goes with it: once a row is changed or
    erased, the digests of what it was tell nothing.
    """

    __abstract__ = True

    row_nonce: Mapped[str | None] = mapped_column(default=new_nonce, sort_order=1000, deferred=True)
