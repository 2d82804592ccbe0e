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
    OlderDatabase,
    StoreError,
)

HELD = "another program holds it; close that one or wait, nothing was written"
KEPT_FROM_WRITING = "it may only be read here; check the file's and the folder's permissions"
NO_ROOM = "the disk is full; make room and try again, nothing was written"
SILENT = "no database server answers there"
BETWEEN = "the database server is starting or stopping; wait a moment"
KNOWN: tuple[tuple[str, type[StoreError], str], ...] = (
    ("database is locked", DatabaseLocked, HELD),
    ("database table is locked", DatabaseLocked, HELD),
    ("lock timeout", DatabaseLocked, HELD),
    ("deadlock detected", DatabaseLocked, HELD),
    ("readonly database", DatabaseReadOnly, KEPT_FROM_WRITING),
    ("read-only transaction", DatabaseReadOnly, "it may be read only for this user"),
    ("disk is full", DiskFull, NO_ROOM),
    ("no space left", DiskFull, NO_ROOM),
    ("could not extend file", DiskFull, NO_ROOM),
    ("not a database", NotADatabase, "it is a file of another kind, or damaged"),
    ("malformed", NotADatabase, "it is damaged; go back to the last backup"),
    ("disk i/o error", StoreError, "the disk did not answer; check it, then `oakpanel db check`"),
    ("unable to open database file", NoDatabase, "it is not there or may not be opened"),
    ("connection refused", NoDatabase, SILENT),
    ("is the server running", NoDatabase, SILENT),
    ("timeout expired", NoDatabase, SILENT),
    ("no route to host", NoDatabase, SILENT),
    ("is unreachable", NoDatabase, SILENT),
    ("server closed the connection", NoDatabase, SILENT),
    ("terminating connection", NoDatabase, SILENT),
    ("connection reset", NoDatabase, SILENT),
    ("connection is closed", NoDatabase, SILENT),
    ("connection is lost", NoDatabase, SILENT),
    ("is starting up", NoDatabase, BETWEEN),
    ("is shutting down", NoDatabase, BETWEEN),
    ("could not translate host name", NoDatabase, "there is no server of that name"),
    ("failed to resolve host", NoDatabase, "there is no server of that name"),
    ("password authentication failed", NoDatabase, "the server refused that name and password"),
    ('" does not exist', NoDatabase, "the server has no such database or user"),
    ("no such table", OlderDatabase, "a table is missing; run `oakpanel db check`"),
    ("no such column", OlderDatabase, "a column is missing; run `oakpanel db check`"),
    ("row-level security", DatabaseReadOnly, "this user may not do that there"),
    ("permission denied", DatabaseReadOnly, "this user may not do that there"),
)


def shown(url: URL) -> str:
    """Return the name of a database as a person may see it: no password in it."""
    if url.get_backend_name() == "sqlite":
        return url.database or "an unnamed database"
    return url.render_as_string(hide_password=True)


def explain(error: DBAPIError, url: URL) -> StoreError:
    """Return the error of ours that tells what *error* means for the user."""
    return in_words(str(error.orig), url)


def in_words(said: str, url: URL) -> StoreError:
    """Return the error of ours for what a driver *said* about the database at *url*."""
    for part, kind, meaning in KNOWN:
        if part in said.lower():
            return kind(f"The database {shown(url)} cannot be used: {meaning}.")
    return StoreError(f"The database {shown(url)} refused: {said}")
