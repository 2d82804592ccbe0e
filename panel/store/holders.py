"""Who else has a database open: programs by their number, or people at a server."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import text
from sqlalchemy.orm import Session

from panel.store.engine import Store
from panel.store.opening import file_of

PROCESSES = Path("/proc")
ENDINGS = ("", "-wal", "-shm", "-journal")
AT_SERVER = text(
    "SELECT pid, usename, application_name FROM pg_stat_activity "
    "WHERE datname = current_database() AND pid <> pg_backend_pid() "
    "AND backend_type = 'client backend' ORDER BY pid"
)
NAMED_AT_MOST = 6


def holders(store: Store) -> tuple[str, ...]:
    """Return who else holds the database, as far as this account may see."""
    if store.url.get_backend_name() == "sqlite":
        return file_holders(file_of(store.url))
    with store.read() as db:
        return _at_server(db)


def file_holders(path: Path) -> tuple[str, ...]:
    """Return the other programs that have a file open (none where the machine does not tell)."""
    wanted = {f"{path.resolve()}{ending}" for ending in ENDINGS}
    return tuple(
        f"{_name(number)} (process {number})"
        for number in sorted(_processes())
        if number != os.getpid() and wanted & set(_open_files(number))
    )


def _processes() -> Iterator[int]:
    try:
        yield from (int(entry) for entry in os.listdir(PROCESSES) if entry.isdigit())
    except OSError:
        return


def _open_files(number: int) -> Iterator[str]:
    folder = PROCESSES / str(number) / "fd"
    try:
        for entry in os.listdir(folder):
            yield os.readlink(folder / entry)
    except OSError:
        return


def _name(number: int) -> str:
    try:
        said = (PROCESSES / str(number) / "comm").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return "a program"
    return said.strip() or "a program"


def _at_server(db: Session) -> tuple[str, ...]:
    return tuple(
        f"{user}{f', {program}' if program else ''} (process {number})"
        for number, user, program in db.execute(AT_SERVER)
    )


def named(held_by: tuple[str, ...]) -> str:
    """Return whom to close, as a person reads it."""
    if not held_by:
        return "the desk, booths and other programs that have it open"
    more = len(held_by) - NAMED_AT_MOST
    return ", ".join(held_by[:NAMED_AT_MOST]) + (f" and {more} more" if more > 0 else "")
