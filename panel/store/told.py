"""Who wrote a row and when, as the log tells: entries name the rows that they vouch for."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from panel.store.log import LogEntry

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class Told:
    """An entry of the log: who did what, and the rows by table that it vouches for.

    `by` and `action` are empty where the entry was cleared, as an erasure does.
    """

    number: int
    at: datetime
    by: str
    action: str
    said: Mapping[str, Any] = field(default_factory=dict)
    rows: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def touches(self, table: str, key: object) -> bool:
        """Say whether it vouches for a row of this key."""
        return str(key) in self.rows.get(table, frozenset())

    def numbers(self, table: str) -> set[int]:
        """Return the rows of a table whose key is one number."""
        return {int(key) for key in self.rows.get(table, frozenset()) if key.isdecimal()}


def told_since(db: Session, moment: datetime) -> list[Told]:
    """Return the entries written since a moment, the newest first."""
    columns = (LogEntry.id, LogEntry.written_at, LogEntry.body_json, LogEntry.kept_json)
    asked = select(*columns).where(LogEntry.written_at >= moment).order_by(LogEntry.id.desc())
    return [_read(*row) for row in db.execute(asked)]


def told_before(db: Session, entry: Told, table: str, key: int) -> bool:
    """Say whether an older entry vouches for the row: then this one did not make it."""
    named = LogEntry.kept_json.contains(f'"{table}":{{')
    older = select(LogEntry.kept_json).where(LogEntry.id < entry.number, named)
    return any(str(key) in _rows(kept).get(table, ()) for kept in db.scalars(older))


def _read(number: int, at: datetime, body_json: str | None, kept_json: str | None) -> Told:
    said = _document(body_json)
    by, action = str(said.get("by", "")), str(said.get("action", ""))
    return Told(number, at, by, action, said, _rows(kept_json))


def _rows(kept_json: str | None) -> dict[str, frozenset[str]]:
    rows = _document(kept_json).get("rows")
    if not isinstance(rows, dict):
        return {}
    return {table: frozenset(keys) for table, keys in rows.items() if isinstance(keys, dict)}


def _document(text: str | None) -> dict[str, Any]:
    """Return what an entry holds; one that was damaged is for the check to report, and is empty."""
    try:
        found = json.loads(text or "{}")
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}
