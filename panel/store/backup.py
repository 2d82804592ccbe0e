"""A copy of a SQLite database while it is in use, into a new private file, then checked."""

from __future__ import annotations

import os
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from shlex import quote
from typing import Any

from sqlalchemy.engine import URL

from panel.errors import StoreError
from panel.store import engine
from panel.store.engine import locate, sqlite_module
from panel.store.faults import in_words, shown
from panel.store.opening import file_of, find_revision
from panel.store.places import new_private_file, reading_mode


@dataclass(frozen=True)
class Backup:
    """A backup that was checked."""

    source: Path
    copy: Path
    size_bytes: int

    json_keys = (("source", "database"), "copy", ("size_bytes", "bytes"))


def back_up(named: str | None, target: Path) -> Backup:
    """Copy the SQLite database that was named to the new file *target*, and check the copy.

    Raises
    ------
    StoreError
        It cannot be used, it is on a server (which has its own tool), or see `back_up_file`.
    """
    url = locate(named)
    if url.get_backend_name() != "sqlite":
        raise StoreError(
            f"{shown(url)} is on a PostgreSQL server, which makes its own backups: "
            f"pg_dump --format=custom --file={quote(str(target))} "
            f"{quote(_for_its_tool(url))} "
            "(it asks for the password)."
        )
    find_revision(url)
    return back_up_file(file_of(url), target)


def _for_its_tool(url: URL) -> str:
    """Return a server's database as its own tools read it, without the password."""
    plain = URL.create(
        "postgresql", url.username, None, url.host, url.port, url.database, url.query
    )
    return plain.render_as_string()


def back_up_file(source: Path, target: Path) -> Backup:
    """Copy the database in *source* to the new file *target*, readable by its owner only.

    Writers may go on meanwhile; the copy is the state at one moment.

    Raises
    ------
    StoreError
        *target* is there already (it is left alone), there is no room, or the copy is not whole
        (then it is taken away).
    """
    if target.exists():
        raise _is_there(target)
    part = part_of(target)
    try:
        new_private_file(part)
    except OSError as error:
        raise StoreError(f"No backup can be written to {target}: {error.strerror}.") from error
    try:
        _copy(source, part, target)
        size_bytes = part.stat().st_size
        _take_name(part, target)
    finally:
        for ending in ("", "-journal", "-wal", "-shm"):
            Path(f"{part}{ending}").unlink(missing_ok=True)
    return Backup(source, target, size_bytes)


def part_of(target: Path) -> Path:
    """Return the name beside *target* under which it is written: a half file never has its own."""
    return target.with_name(f".{target.name}.{os.getpid()}.part")


def _is_there(target: Path) -> StoreError:
    return StoreError(f"{target} is there already; give a new name.")


def _take_name(part: Path, target: Path) -> None:
    """Give a whole file its own name, over nothing that is there."""
    try:
        with part.open("rb") as written:
            os.fsync(written.fileno())
        os.link(part, target)
    except FileExistsError:
        raise _is_there(target) from None
    except OSError:
        # A stick without hard links: look once more, then rename.
        if target.exists():
            raise _is_there(target) from None
        os.rename(part, target)


def _copy(source: Path, part: Path, target: Path) -> None:
    module = sqlite_module()
    try:
        with closing(_opened(source)) as old, closing(module.connect(part)) as new:
            old.backup(new)
            new.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
            _refuse_damage(new, target)
    except module.Error as error:
        raise in_words(str(error), URL.create("sqlite", database=str(target))) from error


def _opened(source: Path) -> Any:
    query = "&".join(f"{key}={value}" for key, value in reading_mode(source).items())
    seconds = engine.BUSY_TIMEOUT_MS / 1000
    return sqlite_module().connect(f"{source.as_uri()}?{query}", uri=True, timeout=seconds)


def _refuse_damage(copy: Any, target: Path) -> None:
    found = [row[0] for row in copy.execute("PRAGMA integrity_check(5)")]
    loose = copy.execute("PRAGMA foreign_key_check").fetchall()
    if found != ["ok"] or loose:
        raise StoreError(
            f"The copy {target} is not whole ({found[0]}; {len(loose)} loose references) and was "
            "taken away. Run `oakpanel db check` on the database itself."
        )
