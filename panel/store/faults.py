"""What a database driver says, in a panel lead's words."""

from __future__ import annotations

from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError

from panel.errors import (
    DatabaseLocked,
    DatabaseReadOnly,
    DiskFull,
    NoDatabase,
    NotADatabase,
    StoreError,
)

KNOWN: tuple[tuple[str, type[StoreError], str], ...] = (
    ("database is locked", DatabaseLocked, "another program holds it; close that one or wait"),
    ("readonly database", DatabaseReadOnly, "it may be read only; check the file's permissions"),
    ("read-only transaction", DatabaseReadOnly, "it may be read only for this user"),
    ("disk is full", DiskFull, "the disk is full; make room and try again, nothing was written"),
    ("not a database", NotADatabase, "it is a file of another kind, or damaged"),
    ("malformed", NotADatabase, "it is damaged; go back to the last backup"),
    ("unable to open database file", NoDatabase, "it is not there or may not be opened"),
    ("connection refused", NoDatabase, "no database server answers there"),
    ("permission denied", DatabaseReadOnly, "this user may not do that there"),
)


def shown(url: URL) -> str:
    """Return the name of a database as a person may see it: no password in it."""
    if url.get_backend_name() == "sqlite":
        return url.database or "an unnamed database"
    return url.render_as_string(hide_password=True)


def explain(error: DBAPIError, url: URL) -> StoreError:
    """Return the error of ours that tells what *error* means for the user."""
    said = str(error.orig).lower()
    for part, kind, meaning in KNOWN:
        if part in said:
            return kind(f"The database {shown(url)} cannot be used: {meaning}.")
    return StoreError(f"The database {shown(url)} refused: {error.orig}")
