"""Putting another file in a database's place: nobody may hold it, and what was there is kept."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy.engine import URL

from panel.errors import DatabaseLocked, StoreError
from panel.store.engine import sqlite_module
from panel.store.erasing import begins_as_database
from panel.store.faults import in_words, shown
from panel.store.holders import file_holders, named

WAIT_S = 1.0
BESIDE = ("-wal", "-shm", "-journal")


@contextmanager
def held_alone(path: Path, url: URL) -> Iterator[Any]:
    """Give the database in *path* to nobody else meanwhile; None where it cannot be read.

    Raises
    ------
    DatabaseLocked
        Others have it open; the sentence names them.
    """
    raw = _locked(path, url)
    try:
        yield raw
    finally:
        if raw is not None:
            raw.close()


def _locked(path: Path, url: URL) -> Any:
    """Return the one connection to a database, its write-ahead log moved into it."""
    if not begins_as_database(path):  # SQLite would tidy away what lies beside it
        if file_holders(path):
            raise _held(path, url)
        return None
    module = sqlite_module()
    raw = module.connect(path, isolation_level=None, timeout=WAIT_S)
    try:
        # Only whoever is alone may leave the write-ahead log: an idle program is in the way too.
        raw.execute("PRAGMA journal_mode=DELETE").fetchone()
        raw.execute("BEGIN EXCLUSIVE")
        raw.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except module.Error as error:
        raw.close()
        if file_holders(path) or isinstance(in_words(str(error), url), DatabaseLocked):
            raise _held(path, url) from error
        return None
    return raw


def _held(path: Path, url: URL) -> DatabaseLocked:
    return DatabaseLocked(
        f"The database {shown(url)} was not replaced: others have it open. Close "
        f"{named(file_holders(path))}, then try again."
    )


def put_in_place(part: Path, path: Path, now: datetime) -> Path | None:
    """Let *part* become the database at *path*; return where the one before is kept.

    There is no moment without a database, and none with the write-ahead log of another one.
    """
    if not path.exists():
        os.replace(part, path)
        return None
    kept = _free_name(path, now)
    try:
        for ending in BESIDE:
            if Path(f"{path}{ending}").exists():
                os.rename(f"{path}{ending}", f"{kept}{ending}")
        _keep(path, kept)
        os.replace(part, path)
    except OSError as error:
        raise StoreError(f"{path} could not be replaced: {error.strerror}.") from error
    return kept


def _free_name(path: Path, now: datetime) -> Path:
    name = f"{path.stem}.{now:%Y%m%dT%H%M%SZ}"
    kept, number = path.with_name(f"{name}.replaced"), 1
    while kept.exists():
        number += 1
        kept = path.with_name(f"{name}.{number}.replaced")
    return kept


def _keep(path: Path, kept: Path) -> None:
    try:
        os.link(path, kept)
    except OSError:
        os.rename(path, kept)  # a disk without hard links
