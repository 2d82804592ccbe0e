"""The log: who did what when, append-only, each entry chained to the one before it.

An entry's digest is SHA-256 over a 16-byte nonce and the canonical JSON of its body; the chain is
SHA-256 over the previous chain value, the digest and the hash of what the entry keeps. A person can
be erased by clearing body and nonce: digest and what is kept stay, and with them the chain. What is
kept names nobody: digests of the rows that were changed, numbers and links of entries that were
cleared, the hash of a key that was sealed.
"""

from __future__ import annotations

import hashlib
import json
import re
import secrets
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy import (
    DDL,
    CheckConstraint,
    Connection,
    Table,
    event,
    func,
    insert,
    or_,
    select,
    update,
)
from sqlalchemy.orm import Mapped, Session, mapped_column

from panel.clock import utc_now
from panel.store.base import ALONE, Base
from panel.store.booth_user import append_as_booth, is_booth
from panel.store.notices import tell_listeners
from panel.store.rows import plain_value
from panel.store.touched import Digests, take_digests, touched_of

FIRST_LINK = "0" * 64
UNKNOWN_LINK = ""
"""Given back to a booth's own user, who reads nothing of the log."""
HEX = re.compile(r"([0-9a-f]{2})*")
MOST = 2**31 - 1
TURN = 0x0A_4B_9A_4E_10_6C
"""The number under which writers on a server queue for the end of the chain."""
NOBODY = "-"
UNTOLD = "records changed"
"""What an entry says that the program had to write for rows which no entry had told of."""


class LogEntry(Base):
    """One entry. It holds codes and hashes of values, never a name or a score in the clear."""

    __tablename__ = "log_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    written_at: Mapped[datetime]
    body_json: Mapped[str | None]
    nonce_hex: Mapped[str | None]
    digest_hex: Mapped[str]
    chain_hex: Mapped[str] = mapped_column(unique=True)
    kept_json: Mapped[str | None]


class LogHead(Base):
    """The end of the log, once more: an entry that is cut off leaves this behind."""

    __tablename__ = "log_head"
    __table_args__ = (CheckConstraint(ALONE, name="id_alone"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    entries: Mapped[int]
    chain_hex: Mapped[str]


FIRST_HEAD = f"INSERT INTO log_head (id, entries, chain_hex) VALUES (1, 0, '{FIRST_LINK}')"
ENTRIES, HEADS = cast("Table", LogEntry.__table__), cast("Table", LogHead.__table__)
event.listen(HEADS, "after_create", DDL(FIRST_HEAD))  # type: ignore[no-untyped-call]


@dataclass(frozen=True)
class Written:
    """An entry that was added: its number and the newest link of the chain."""

    number: int
    chain_hex: str


def canonical(body: Mapping[str, object]) -> str:
    """Return the one JSON text of a body that its hash is taken over."""
    return json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digest_of(nonce_hex: str, body_json: str) -> str:
    """Return SHA-256 of the nonce's bytes and the body, in hex."""
    return hashlib.sha256(bytes.fromhex(nonce_hex) + body_json.encode()).hexdigest()


def link(previous_hex: str, digest_hex: str, kept_json: str | None = None) -> str:
    """Return the chain value that follows *previous_hex*."""
    joined = bytes.fromhex(previous_hex) + bytes.fromhex(digest_hex)
    if kept_json is not None:
        joined += hashlib.sha256(kept_json.encode()).digest()
    return hashlib.sha256(joined).hexdigest()


def _next_link(previous_hex: str, digest_hex: str, kept_json: str) -> str:
    """Return the chain value of a new entry: a damaged one before it is reported, not obeyed."""
    whole = HEX.fullmatch(previous_hex) is not None
    return link(previous_hex if whole else previous_hex.encode().hex(), digest_hex, kept_json)


def append_entry(
    db: Session,
    *,
    at: datetime,
    by: str,
    action: str,
    details: Mapping[str, object],
    kept: Mapping[str, object] | None = None,
) -> Written:
    """Add one entry inside a write transaction (one entry a transaction), after all it tells of.

    It vouches for every row that was changed since the transaction began or its last entry. *kept*
    stays when the person who acted is erased: it names nobody.
    """
    db.flush()
    touched = touched_of(db)
    cleared = touched.cleared if touched else None
    facts = {**(kept or {}), **({} if cleared is None else cleared_facts(cleared))}
    body = canonical({"at": at.isoformat(), "by": by, "action": action, **details})
    return add_link(db.connection(), at, body, rows=take_digests(db), kept=facts)


def add_link(
    connection: Connection,
    at: datetime,
    body_json: str,
    *,
    rows: Digests,
    kept: Mapping[str, object],
) -> Written:
    """Write an entry at the end of the chain."""
    if is_booth(connection):
        append_as_booth(connection, at, body_json, canonical(rows))
        tell_listeners(connection)
        return Written(0, UNKNOWN_LINK)
    _wait_for_turn(connection)
    told = {"rows": rows} if rows else {}
    kept_json = canonical({"at": plain_value(at), **told, **kept})
    nonce = secrets.token_hex(16)
    digest = digest_of(nonce, body_json)
    entries, previous = _end(connection)
    chain = _next_link(previous, digest, kept_json)
    row = {
        **{"written_at": at, "body_json": body_json, "nonce_hex": nonce},
        **{"digest_hex": digest, "chain_hex": chain, "kept_json": kept_json},
    }
    number = _add_row(connection, row)
    connection.execute(update(HEADS).values(entries=min(entries, MOST - 1) + 1, chain_hex=chain))
    tell_listeners(connection)
    return Written(number, chain)


def _add_row(connection: Connection, row: Mapping[str, object]) -> int:
    """Add an entry in the next place that is free: one that somebody took stops no write."""
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as insert_there

        added = insert_there(ENTRIES).values(row).on_conflict_do_nothing(index_elements=["id"])
        while (number := connection.scalar(added.returning(ENTRIES.c.id))) is None:
            continue
        return int(number)
    written = connection.execute(insert(ENTRIES).values(row)).inserted_primary_key
    return int(written[0]) if written else 0


def _end(connection: Connection) -> tuple[int, str]:
    """Return how many entries there are and the last link; no damage to it stops a write."""
    asked = select(HEADS.c.entries, HEADS.c.chain_hex).order_by(HEADS.c.id)
    found = connection.execute(asked.limit(1)).first()
    if found is not None:
        return found[0] if isinstance(found[0], int) else 0, str(found[1])
    newest = select(ENTRIES.c.chain_hex).order_by(ENTRIES.c.id.desc()).limit(1)
    return 0, str(connection.scalar(newest) or FIRST_LINK)


def tell_the_rest(db: Session) -> None:
    """Vouch for rows that were changed after the last entry of a transaction, or without one."""
    db.flush()
    if touched_of(db):
        append_entry(db, at=utc_now(), by=NOBODY, action=UNTOLD, details={})


def cleared_facts(entries: Iterable[tuple[int, str]]) -> dict[str, list[Any]]:
    """Return how an entry names those that were cleared, by number and link.

    A number can be changed past the program; the link says which entry was meant, and nobody's
    name.
    """
    named = list(entries)
    return {
        "cleared": [number for number, _ in named],
        "cleared_links": [chain for _, chain in named],
    }


def clear_entries(db: Session, entries: Iterable[LogEntry]) -> int:
    """Clear body and nonce of entries; the transaction's next entry names them.

    Without the nonce nobody can try out what the digest was of.
    """
    cleared = [(entry.id, entry.chain_hex) for entry in map(_clear, entries)]
    if (touched := touched_of(db)) is not None:
        touched.cleared = [*(touched.cleared or []), *cleared]
    return len(cleared)


def _clear(entry: LogEntry) -> LogEntry:
    entry.body_json, entry.nonce_hex = None, None
    return entry


def _wait_for_turn(connection: Connection) -> None:
    # SQLite's write lock is held already; on a server two writers would follow the same entry.
    if connection.dialect.name == "postgresql":
        connection.execute(select(func.pg_advisory_xact_lock(TURN)))


def head_hash(db: Session) -> str:
    """Return the newest chain value, to be printed on sheets and reports."""
    return db.scalar(select(LogHead.chain_hex)) or FIRST_LINK


def entries_about(
    db: Session,
    actions: Collection[str],
    session: str,
    *,
    since: datetime | None = None,
    until: datetime | None = None,
) -> Iterator[tuple[datetime, dict[str, Any]]]:
    """Give the entries of some actions about one session, the first first, as far as not erased.

    The database looks for texts, some without telling capitals apart: each entry is read as well.
    """
    named = f'"session":{json.dumps(session, ensure_ascii=False)}'
    body = LogEntry.body_json
    asked = select(LogEntry.written_at, body).where(body.contains(named, autoescape=True))
    asked = asked.where(or_(*(body.contains(f'"{name}"', autoescape=True) for name in actions)))
    if since is not None:
        asked = asked.where(LogEntry.written_at >= since)
    if until is not None:
        asked = asked.where(LogEntry.written_at <= until)
    for at, text in db.execute(asked.order_by(LogEntry.id)):
        told = json.loads(text or "{}")
        if told.get("action") in actions and told.get("session") == session:
            yield at, told


def sealed_in_log(db: Session, session_id: int) -> dict[str, Any] | None:
    """Return what the log wrote down when a session was sealed: `hash` and `form` of the key.

    None where the log says nothing of it, or where it was changed from that entry on.
    """
    said = f'"sealed":{{"{session_id}":'
    asked = select(LogEntry.id, LogEntry.kept_json).where(LogEntry.kept_json.contains(said))
    found = db.execute(asked.order_by(LogEntry.id.desc()).limit(1)).one_or_none()
    if found is None or not _holds_from(db, found[0]):
        return None
    return cast("dict[str, Any]", json.loads(str(found[1]))["sealed"][str(session_id)])


def _holds_from(db: Session, number: int) -> bool:
    before = select(LogEntry.chain_hex).where(LogEntry.id < number).order_by(LogEntry.id.desc())
    previous = db.scalar(before.limit(1)) or FIRST_LINK
    columns = (LogEntry.digest_hex, LogEntry.kept_json, LogEntry.chain_hex)
    for digest, kept_json, chain in db.execute(
        select(*columns).where(LogEntry.id >= number).order_by(LogEntry.id)
    ):
        if not _is_link(previous, digest, kept_json, chain):
            return False
        previous = chain
    return bool(previous == head_hash(db))


def _is_link(previous: str, digest: str, kept_json: str | None, chain: str) -> bool:
    try:
        return link(previous, digest, kept_json) == chain
    except (ValueError, TypeError):
        return False
