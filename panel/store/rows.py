"""What a row comes to as one digest, whoever reads it: the program that writes it or the check.

A row is read as SQLite stores it, whatever the database: a moment as text in UTC, a yes as 1. Empty
columns are left out, so that a column which a later program adds changes no digest.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import Enum
from functools import cache
from itertools import islice
from json import JSONEncoder
from math import isnan
from typing import Any, cast

from sqlalchemy import Column, Connection, Float, Select, Table, select, type_coerce
from sqlalchemy.types import NullType

DIGITS = 32
"""Of a digest that stand in the log: half of SHA-256, as every row has one."""
AT_ONCE = 500
AS_IT_IS = frozenset({str, int, float})
Key = tuple[Any, ...]
Values = Sequence[object]
_encode = JSONEncoder(separators=(",", ":"), ensure_ascii=False).encode


@dataclass(frozen=True)
class RowForm:
    """The columns of a table by name, and where among them its key lies."""

    table: Table
    columns: tuple[Column[Any], ...]
    names: tuple[str, ...]
    plain: tuple[Callable[[Any], object], ...]
    key_places: tuple[int, ...]

    @property
    def key(self) -> tuple[Column[Any], ...]:
        """The columns of the key, in their order."""
        return tuple(self.columns[place] for place in self.key_places)

    def key_text(self, key: Iterable[object]) -> str:
        """Return how the log names a row."""
        return ",".join([str(plain_value(part)) for part in key])

    def key_of(self, values: Values) -> str:
        """Return how the log names the row of these values."""
        places = self.key_places
        if len(places) == 1:
            return str(plain_value(values[places[0]]))
        return self.key_text([values[place] for place in places])

    def digest(self, values: Values) -> str:
        """Return the digest of a row whose values stand in the order of the columns."""
        body = {
            name: stored
            for name, plain, value in zip(self.names, self.plain, values, strict=True)
            if value is not None and (stored := plain(value)) is not None
        }
        text = _encode([self.table.name, body])
        return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:DIGITS]

    def asked(self) -> Select[*tuple[Any, ...]]:
        """Return the question for rows as they are stored, without any reading of a type."""
        stored = [type_coerce(column, NullType()) for column in self.columns]
        return select(*stored)


@cache
def form_of(table: Table) -> RowForm:
    """Return how rows of a table are read."""
    columns = tuple(sorted(table.columns, key=lambda column: column.name))
    plain = tuple(
        plain_number if isinstance(column.type, Float) else plain_value for column in columns
    )
    places = tuple(columns.index(column) for column in table.primary_key.columns)
    return RowForm(table, columns, tuple(column.name for column in columns), plain, places)


def plain_value(value: object) -> object:
    """Return a value as SQLite stores it."""
    if type(value) in AS_IT_IS:  # nearly all there are: a look at the exact kind is quick
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime):
        utc = value.astimezone(UTC).replace(tzinfo=None) if value.tzinfo else value
        return utc.isoformat(" ", "microseconds")
    if isinstance(value, date):
        return value.isoformat()
    if hasattr(value, "__index__"):
        return int(cast("int", value))
    return value if isinstance(value, float | str) else str(value)


def plain_number(value: object) -> object:
    """Return a number of a column that holds numbers with a point; text stays what it is."""
    if isinstance(value, str | bytes):
        return str(value)
    number = value if type(value) is float else float(cast("float", value))
    return None if isnan(number) else number + 0.0  # a file has no zero below zero


def all_rows(connection: Connection, form: RowForm) -> Iterator[Values]:
    """Give every row of a table as it is stored."""
    for portion in connection.execute(form.asked()).partitions(AT_ONCE * 10):
        yield from portion


def rows_at(connection: Connection, form: RowForm, keys: Iterable[Key]) -> Iterator[Values]:
    """Give the rows of these keys that are there."""
    wanted = {form.key_text(key): key for key in keys}
    first = form.key[0]
    for portion in _portions(sorted({key[0] for key in wanted.values()})):
        for row in connection.execute(form.asked().where(first.in_(portion))):
            values = tuple(row)
            if form.key_of(values) in wanted:
                yield values


def _portions(items: list[Any]) -> Iterator[list[Any]]:
    waiting = iter(items)
    while portion := list(islice(waiting, AT_ONCE)):
        yield portion
