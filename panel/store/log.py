"""The log: who did what when, append-only, each entry chained to the one before it.

An entry's digest is SHA-256 over a 16-byte nonce and the canonical JSON of its body; the chain is
SHA-256 over the previous chain value and the digest. A person can be erased by clearing body and
nonce: the digest stays, and with it the chain.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from panel.store.base import Base

FIRST_LINK = "0" * 64
TURN = 0x0A_4B_9A_4E_10_6C
"""The number under which writers on a server queue for the end of the chain."""


class LogEntry(Base):
    """One entry. It holds codes and hashes of values, never a name or a score in the clear."""

    __tablename__ = "log_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    written_at: Mapped[datetime]
    body_json: Mapped[str | None]
    nonce_hex: Mapped[str | None]
    digest_hex: Mapped[str]
    chain_hex: Mapped[str] = mapped_column(unique=True)


def canonical(body: Mapping[str, object]) -> str:
    """Return the one JSON text of a body that its hash is taken over."""
    return json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digest_of(nonce_hex: str, body_json: str) -> str:
    """Return SHA-256 of the nonce's bytes and the body, in hex."""
    return hashlib.sha256(bytes.fromhex(nonce_hex) + body_json.encode()).hexdigest()


def link(previous_hex: str, digest_hex: str) -> str:
    """Return the chain value that follows *previous_hex*."""
    return hashlib.sha256(bytes.fromhex(previous_hex) + bytes.fromhex(digest_hex)).hexdigest()


def append_entry(
    db: Session, *, at: datetime, by: str, action: str, details: Mapping[str, object]
) -> LogEntry:
    """Add one entry inside a write transaction (one entry a transaction)."""
    _wait_for_turn(db)
    body = canonical({"at": at.isoformat(), "by": by, "action": action, **details})
    nonce = secrets.token_hex(16)
    digest = digest_of(nonce, body)
    entry = LogEntry(
        written_at=at,
        body_json=body,
        nonce_hex=nonce,
        digest_hex=digest,
        chain_hex=link(head_hash(db), digest),
    )
    db.add(entry)
    db.flush()
    return entry


def _wait_for_turn(db: Session) -> None:
    # SQLite's write lock is held already; on a server two writers would follow the same entry.
    if db.get_bind().dialect.name == "postgresql":
        db.execute(select(func.pg_advisory_xact_lock(TURN)))


def head_hash(db: Session) -> str:
    """Return the newest chain value, to be printed on sheets and reports."""
    newest = select(LogEntry.chain_hex).order_by(LogEntry.id.desc()).limit(1)
    return db.scalar(newest) or FIRST_LINK


def broken_link(db: Session) -> int | None:
    """Return the number of the first entry whose hash does not fit, or None."""
    previous = FIRST_LINK
    for entry in db.scalars(select(LogEntry).order_by(LogEntry.id)):
        if not _fits(entry, previous):
            return entry.id
        previous = entry.chain_hex
    return None


def _fits(entry: LogEntry, previous: str) -> bool:
    if link(previous, entry.digest_hex) != entry.chain_hex:
        return False
    if entry.body_json is None or entry.nonce_hex is None:
        return True
    return digest_of(entry.nonce_hex, entry.body_json) == entry.digest_hex
