"""Whose the database is: the account that owns the file, or the role that owns the tables.

Whoever is that may give a PIN past the leads, as they could write anything there; it is logged, and
told at the desk for a while.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import select, text
from sqlalchemy.orm import Session

from panel.errors import NotAllowed
from panel.store.engine import Store
from panel.store.log import LogEntry

PIN_RECOVERED = "PIN recovered"
TOLD_FOR = timedelta(days=30)
OWNS_TABLES = text(
    "SELECT pg_has_role(current_user, relowner, 'USAGE') FROM pg_class WHERE oid = "
    "'person'::regclass"
)


@dataclass(frozen=True)
class Recovered:
    """A PIN that was given past the leads."""

    code: str
    at: datetime


def refuse_stranger(store: Store) -> None:
    """Raise NotAllowed unless whoever runs this owns the database."""
    if not _owns(store):
        raise NotAllowed(
            "Only who owns the database (the account of its file, or the role of its tables on a "
            "server) may give a PIN without a lead."
        )


def _owns(store: Store) -> bool:
    if store.url.get_backend_name() == "postgresql":
        with store.read() as db:
            return bool(db.scalar(OWNS_TABLES))
    file = Path(store.url.database or "")
    if not hasattr(os, "geteuid"):  # where files have no such owner, whoever may write it
        return os.access(file, os.W_OK)
    return file.stat().st_uid == os.geteuid()


def recovered_pins(db: Session, *, now: datetime) -> list[Recovered]:
    """Return the PINs that were given past the leads within the last 30 days, newest first."""
    asked = (
        select(LogEntry.body_json, LogEntry.written_at)
        .where(LogEntry.body_json.contains(f'"action":"{PIN_RECOVERED}"'))
        .where(LogEntry.written_at > now - TOLD_FOR)
        .order_by(LogEntry.id.desc())
    )
    told = db.execute(asked).all()
    return [Recovered(str(json.loads(body or "{}")["person"]), at) for body, at in told]
