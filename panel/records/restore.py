"""Putting a backup back in the place of the database, and saying what it does not hold."""

from __future__ import annotations

from contextlib import closing, nullcontext
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from shlex import quote
from typing import Any

from sqlalchemy import delete, func, select
from sqlalchemy.engine import URL

from panel.errors import NoDatabase, StoreError
from panel.kinds import SessionStatus
from panel.records.deed import deed
from panel.store.backup import back_up_file, part_of
from panel.store.engine import connect, locate, sqlite_module
from panel.store.faults import shown
from panel.store.house import today_at_site
from panel.store.kept_files import drop_kept
from panel.store.lost_stretch import (
    HEAD_DIGITS,
    MOST_HEADS,
    RESTORED,
    LostScore,
    LostStretch,
    lost_stretch,
)
from panel.store.opening import check_revision, file_of, find_revision, open_store
from panel.store.passes import HourPass
from panel.store.places import refuse_network
from panel.store.replacing import held_alone, put_in_place
from panel.store.sessions import BoothSeat, PanelSession
from panel.store.who import lead_or_first

IN_USE = b"\x02\x02"
"""Bytes 18 and 19 of a SQLite file that has a write-ahead log: the database file format, 1.3."""


@dataclass(frozen=True)
class Restored:
    """What was put back, where that which it replaces is kept, and what is to be done again."""

    database: str
    source: Path
    replaced: Path | None
    backup_of: str
    seats_dropped: int
    entries_lost: int | None
    """None where the database before could not be read: what came after the backup is unknown."""
    scores_to_key_again: tuple[LostScore, ...]
    erased_since: tuple[str, ...]
    without_its_log: bool
    """*source* was copied by hand from a database in use: what lay in its `-wal` is not in it."""


def restore(named: str | None, source: Path, *, now: datetime, by: str | None) -> Restored:
    """Let a copy of *source* take the place of the database that was named.

    Raises
    ------
    NoDatabase, NotADatabase, OlderDatabase, NewerDatabase
        *source* is no backup of this version.
    DatabaseLocked
        Others have the database open.
    StoreError
        It is on a server, or *source* is damaged. Nothing was changed then.
    NotAllowed, UnknownRecord
        Whoever acts does not lead, in the backup's own records.
    """
    path = look_at(named, source, now=now, by=by)
    url = locate(named)
    refuse_network(path.parent)
    part = part_of(path.with_name(f"{path.name}.new"))
    alone = held_alone(path, url) if path.exists() else nullcontext()
    try:
        with alone as before:
            back_up_file(source, part)
            lost = _compared(before, part)
            seats = _made_ours(part, lost, now, by)
            replaced = put_in_place(part, path, now)
            drop_kept(url)
        with closing(open_store(named)) as store:
            store.note_head(anew=True)
    finally:
        for ending in ("", "-journal", "-wal", "-shm"):
            Path(f"{part}{ending}").unlink(missing_ok=True)
    unknown = replaced is not None and not lost.known
    return Restored(
        shown(url),
        source,
        replaced,
        lost.backup_of,
        seats,
        None if unknown else len(lost.heads),
        lost.scores,
        lost.erased_since,
        _copied_without_log(source),
    )


def _copied_without_log(source: Path) -> bool:
    """Say whether a file is one in use that was copied alone: a backup of ours is marked whole."""
    with source.open("rb") as file:
        head = file.read(20)
    return head[18:] == IN_USE and not Path(f"{source}-wal").exists()


def _refuse_server(url: URL, source: Path) -> None:
    if url.get_backend_name() != "sqlite":
        raise StoreError(
            f"{shown(url)} is on a PostgreSQL server, whose own tool puts its backups back: "
            "pg_restore --clean --if-exists --single-transaction --dbname=DATABASE "
            f"{quote(str(source))}"
        )


def look_at(named: str | None, source: Path, *, now: datetime, by: str | None) -> Path:
    """Return the database's file, once *source* is known to be a backup that may be put there.

    Raises what `restore` raises before anything is changed.
    """
    url = locate(named)
    _refuse_server(url, source)
    path = file_of(url)
    _refuse_source(source, path, now, by)
    return path


def _refuse_source(source: Path, path: Path, now: datetime, by: str | None) -> None:
    if not source.exists():
        raise NoDatabase(f"There is no file {source}.")
    if path.exists() and source.samefile(path):
        raise StoreError(f"{source} is the database itself; name a backup of it.")
    url = URL.create("sqlite", database=str(source))
    check_revision(find_revision(url), url)
    with closing(connect(url, readonly=True)) as backup, backup.read() as db:
        lead_or_first(db, by, on=today_at_site(db, now))


def _compared(before: Any, part: Path) -> LostStretch:
    with closing(sqlite_module().connect(part)) as backup:
        return lost_stretch(before, backup)


def _made_ours(part: Path, lost: LostStretch, now: datetime, by: str | None) -> int:
    """Drop seats and passes and write down that this is a backup; return how many seats were used.

    Those of a session that is over are nobody's any more.
    """
    store = connect(URL.create("sqlite", database=str(part)))
    try:
        with store.write() as db, deed(db, RESTORED, now=now, by=by) as done:
            in_use = select(PanelSession.id).where(PanelSession.status == SessionStatus.OPEN)
            used = select(func.count()).where(BoothSeat.session_id.in_(in_use))
            seats = db.scalar(used) or 0
            db.execute(delete(BoothSeat))
            db.execute(delete(HourPass))
            heads = [head[:HEAD_DIGITS] for head in lost.heads[-MOST_HEADS:]]
            done.details.update(
                backup_of=lost.backup_of, entries_lost=len(lost.heads), lost_heads=heads
            )
    finally:
        store.close()
    return seats
