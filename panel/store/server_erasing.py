"""Erased rows leave the tables of a PostgreSQL server: each table touched is written anew."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from panel.errors import DatabaseLocked
from panel.store.engine import Store, explained
from panel.store.faults import explain
from panel.store.holders import holders

MARK = "erasing since "
MARK_OF = text("SELECT obj_description('person'::regclass, 'pg_class')")
A_MOMENT = text("SELECT pg_current_xact_id()::text")
OLDER = text(
    "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
    "AND pid <> pg_backend_pid() AND age(backend_xmin) > age(CAST(:moment AS xid))"
)
LOCK_WAIT_MS = 500
BETWEEN_S = 0.5


def server_mark(store: Store) -> str | None:
    """Return since when an erasure is unfinished; else None."""
    with store.read() as db:
        comment = str(db.scalar(MARK_OF) or "")
    return comment.removeprefix(MARK) if comment.startswith(MARK) else None


def set_server_mark(store: Store, since: str | None) -> None:
    """Write or take off the mark: a comment on the table of people."""
    said = "NULL" if since is None else f"'{MARK}{since}'"
    with store.write() as db:
        db.execute(text(f"COMMENT ON TABLE person IS {said}"))


def write_tables_anew(
    store: Store,
    tables: Sequence[str],
    tell: Callable[[tuple[str, ...]], None],
    patience_s: float,
) -> bool:
    """Write each table anew once nobody can see the rows of before; say whether all were."""
    end = time.monotonic() + patience_s
    told = False
    with explained(store.url), store.engine.connect() as plain:
        connection = plain.execution_options(isolation_level="AUTOCOMMIT")
        connection.execute(text(f"SET lock_timeout = {LOCK_WAIT_MS}"))
        moment = str(connection.scalar(A_MOMENT))
        left = list(tables)
        while True:
            left = _still_left(store, connection, left, moment)
            if not left:
                connection.execute(text("RESET lock_timeout"))
                return True
            if not told:
                tell(holders(store))
                told = True
            if time.monotonic() >= end:
                return False
            time.sleep(BETWEEN_S)


def _still_left(store: Store, connection: Connection, tables: list[str], moment: str) -> list[str]:
    """Write anew what can be; return the tables that others are in the way of."""
    # A row that an older transaction may still see would be copied too.
    number = str(int(moment) % 2**32)
    if connection.scalar(OLDER, {"moment": number}):
        return tables
    return [table for table in tables if not _written_anew(store, connection, table)]


def _written_anew(store: Store, connection: Connection, table: str) -> bool:
    try:
        connection.execute(text(f'VACUUM FULL "{table}"'))
    except DBAPIError as error:
        if isinstance(explain(error, store.url), DatabaseLocked):
            return False
        raise
    return True
