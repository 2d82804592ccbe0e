"""The last head of the log that this account saw, kept where whoever edits the database is not.

A log that was rewritten as a whole fits itself; it does not fit a head that somebody remembers.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from panel.own_folder import state_folder, write_own

if TYPE_CHECKING:
    from sqlalchemy.engine import URL
    from sqlalchemy.orm import Session

HEAD_NOW = text("SELECT entries, chain_hex FROM log_head")
IN_LOG = text("SELECT 1 FROM log_entry WHERE chain_hex = :head")


@dataclass(frozen=True)
class Seen:
    """A head of a database's log, and how many entries stood before it."""

    database: str
    entries: int
    head: str


def last_seen(url: URL) -> Seen | None:
    """Return the head that this account saw last, None where it saw none or cannot tell."""
    try:
        return Seen(**json.loads(_file(url).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def note_head(db: Session, url: URL, *, anew: bool = False) -> None:
    """Keep the head as it is now, unless the one kept before is no longer in the log.

    With *anew* it is kept whatever was kept before: after a backup was put back on purpose. A
    folder that cannot be written, or a log that cannot be read, keeps nothing.
    """
    with suppress(OSError, DBAPIError):
        now = db.execute(HEAD_NOW).first()
        before = last_seen(url)
        if not now or not now[0] or (before is not None and before.head == now[1]):
            return
        entries, head = now
        if anew or before is None or _stands(db, before):
            seen = Seen(_name(url), int(entries), str(head))
            write_own(_file(url), json.dumps(asdict(seen)).encode())


def forget_head(url: URL) -> None:
    """Forget what was seen of a database: another one begins in its place."""
    with suppress(OSError):
        _file(url).unlink(missing_ok=True)


def _stands(db: Session, seen: Seen) -> bool:
    return db.execute(IN_LOG, {"head": seen.head}).first() is not None


def _name(url: URL) -> str:
    if url.get_backend_name() == "sqlite":
        return str(Path(url.database or "").resolve())
    return url.set(username=None, password=None, query={}).render_as_string()


def own_file(url: URL, folder: str) -> Path:
    """Return where something that this account keeps about a database lies."""
    return state_folder() / folder / sha256(_name(url).encode()).hexdigest()[:20]


def _file(url: URL) -> Path:
    return own_file(url, "heads").with_suffix(".json")
