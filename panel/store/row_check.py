"""Are the rows those that the log vouches for? What was written past the program is not."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection

from panel.store.log_check import LogReading
from panel.store.rows import RowForm, all_rows, form_of
from panel.store.tables import METADATA


@dataclass(frozen=True)
class RowEdits:
    """Rows of one table, by their keys, that are not as the log has them."""

    table: str
    changed: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        """Tell whether there is any."""
        return any((self.changed, self.added, self.gone))


def edited_rows(connection: Connection, reading: LogReading, tables: list[str]) -> list[RowEdits]:
    """Return what was changed, added or taken away past the log, table by table."""
    found = [
        _compare(connection, form_of(METADATA.tables[name]), dict(reading.rows.get(name, {})))
        for name in tables
    ]
    return [edits for edits in found if edits]


def _compare(connection: Connection, form: RowForm, told: dict[str, bytes | None]) -> RowEdits:
    changed, added = [], []
    for row in all_rows(connection, form):
        key = form.key_of(row)
        stated = told.pop(key, None)
        if stated is None:
            added.append(key)
        elif form.digest(row) != stated.hex():
            changed.append(key)
    gone = [key for key, stated in told.items() if stated is not None]
    return RowEdits(form.table.name, tuple(changed), tuple(added), tuple(gone))
