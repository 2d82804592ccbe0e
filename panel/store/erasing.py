"""Erased text leaves the file: freed pages are overwritten, and no older state lies beside it.

What is deleted from a SQLite file is overwritten in it by `secure_delete`, but the file as it was
before stays until the write-ahead log is moved into it, and rows that were merely forgotten before
stay until it is written anew. Both need that nobody reads an older state. Until it is done a mark
stands beside the file (on a server: a comment on the table of people), which `db check` reports.
"""

from __future__ import annotations

import os
import re
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from shutil import disk_usage
from typing import Any

from panel.errors import DiskFull
from panel.figures import in_digits
from panel.store.engine import Store, sqlite_module
from panel.store.faults import in_words
from panel.store.holders import holders
from panel.store.kept_files import drop_kept
from panel.store.opening import file_of
from panel.store.places import new_private_file
from panel.store.server_erasing import server_mark, set_server_mark, write_tables_anew

PATIENCE_S = 30.0
BETWEEN_S = 0.5
SPARE_BYTES = 16 * 2**20
MARK = "-erasing"
PART = re.compile(r"\.(?P<of>.+)\.(?P<process>[0-9]+)\.part(?:-journal|-wal|-shm)?")
SQLITE = b"SQLite format 3\0"
Told = Callable[[tuple[str, ...]], None]


@dataclass(frozen=True)
class Overwriting:
    """Whether what was erased is gone from the file; else who holds an older state of it."""

    overwritten: bool
    held_by: tuple[str, ...] = ()
    copies: tuple[Path, ...] = ()
    """Files in the same folder that were made before and hold what was erased: databases that were
    copied, and kept answers of another account that may not be deleted by this one."""


def _quiet(_held_by: tuple[str, ...]) -> None:
    """Tell nobody."""


def need_room(store: Store) -> None:
    """Raise DiskFull unless the file can be written anew beside itself."""
    if store.url.get_backend_name() != "sqlite":
        return
    path = file_of(store.url)
    needed = 2 * _size(path) + SPARE_BYTES
    free = disk_usage(path.parent).free
    if free < needed:
        raise DiskFull(
            f"Nothing was erased: to overwrite it the database {path} is written anew, which takes "
            f"{in_digits(needed / 2**20, ',.0f')} MiB, and "
            f"{in_digits(free / 2**20, ',.0f')} MiB are free. Make room first."
        )


def _size(path: Path) -> int:
    files = (path, Path(f"{path}-wal"))
    return sum(file.stat().st_size for file in files if file.exists())


@contextmanager
def marked(store: Store, now: datetime) -> Iterator[None]:
    """Let an erasure happen under a mark, which stays unless the erasure is refused."""
    before = unfinished_since(store)
    if before is None:
        _set_mark(store, now)
    try:
        yield
    except BaseException:
        if before is None:
            _clear_mark(store)
        raise


def unfinished_since(store: Store) -> str | None:
    """Return when an erasure began that is not finished, as it was written; else None."""
    if store.url.get_backend_name() != "sqlite":
        return server_mark(store)
    try:
        return _mark_of(store).read_text(encoding="utf-8").strip() or "an unknown time"
    except FileNotFoundError:
        return None
    except OSError:
        return "an unknown time"


def _mark_of(store: Store) -> Path:
    return Path(f"{file_of(store.url)}{MARK}")


def _set_mark(store: Store, now: datetime) -> None:
    said = f"{now:%Y-%m-%d %H:%M} UTC"
    if store.url.get_backend_name() != "sqlite":
        set_server_mark(store, said)
        return
    path = _mark_of(store)
    new_private_file(path)
    path.write_text(f"{said}\n", encoding="utf-8")


def _clear_mark(store: Store) -> None:
    if store.url.get_backend_name() != "sqlite":
        set_server_mark(store, None)
    else:
        _mark_of(store).unlink(missing_ok=True)


def overwrite(
    store: Store, tables: Iterable[str], *, tell: Told = _quiet, patience_s: float | None = None
) -> Overwriting:
    """Write the database anew and leave no older state beside it; wait while others hold one.

    What was reckoned before is no longer kept either: it names people by their codes.
    *tell* is called once, with who they are, when it has to wait.

    Raises
    ------
    StoreError
        No room, read-only: in words. The mark stays then.
    """
    patience_s = PATIENCE_S if patience_s is None else patience_s
    left = drop_kept(store.url)
    if store.url.get_backend_name() == "sqlite":
        done = _overwrite_file(store, tell, patience_s)
        copies: tuple[Path, ...] = tuple(copies_beside(file_of(store.url)))
        sweep(file_of(store.url))
    else:
        done = write_tables_anew(store, sorted(tables), tell, patience_s)
        copies = ()
    copies = (*copies, *left)
    if done:
        _clear_mark(store)
    return Overwriting(done, () if done else holders(store), copies)


def _overwrite_file(store: Store, tell: Told, patience_s: float) -> bool:
    path, module = file_of(store.url), sqlite_module()
    try:
        with closing(module.connect(path, isolation_level=None, timeout=BETWEEN_S)) as raw:
            raw.execute("PRAGMA secure_delete=ON")
            steps = [partial(_written_anew, raw), partial(_log_emptied, raw)]
            return _patiently(store, steps, tell, patience_s)
    except module.Error as error:
        raise in_words(str(error), store.url) from error


def _patiently(
    store: Store, steps: Sequence[Callable[[], bool]], tell: Told, patience_s: float
) -> bool:
    """Do each step as soon as others let it; say whether all were done in time."""
    end = time.monotonic() + patience_s
    told = False
    for step in steps:
        while not step():
            if not told:
                tell(holders(store))
                told = True
            if time.monotonic() >= end:
                return False
            time.sleep(BETWEEN_S)
    return True


def _written_anew(raw: Any) -> bool:
    """Write every page anew; say whether no other writer was in the way."""
    try:
        raw.execute("VACUUM")
    except sqlite_module().OperationalError as error:
        if "locked" in str(error):
            return False
        raise
    return True


def _log_emptied(raw: Any) -> bool:
    """Move the write-ahead log into the file and cut it; the answer says whether it could.

    A reader of an older state makes it answer "busy", which is no error.
    """
    busy, _frames, _moved = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    return bool(busy == 0)


def sweep(path: Path) -> None:
    """Remove what broken-off work left beside a database: half files and an old journal."""
    for file in path.parent.iterdir():
        found = PART.fullmatch(file.name)
        if found is not None and not _runs(int(found["process"])):
            file.unlink(missing_ok=True)
    # Whoever opened the database has rolled back what a journal held; what is left is a leftover.
    Path(f"{path}-journal").unlink(missing_ok=True)


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


def copies_beside(path: Path) -> Iterator[Path]:
    """Give the other databases in the folder: backups, and what was replaced."""
    for file in sorted(path.parent.iterdir()):
        if file != path and file.is_file() and begins_as_database(file):
            yield file


def begins_as_database(file: Path) -> bool:
    """Say whether a file begins as those of SQLite do."""
    try:
        with file.open("rb") as opened:
            return opened.read(len(SQLITE)) == SQLITE
    except OSError:
        return False
