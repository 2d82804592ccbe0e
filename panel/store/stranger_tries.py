"""Wrong tries of codes that nobody has: kept as those of people are, so that they wait alike.

A restart that forgot them would tell which codes there are. They lie under a digest of what was
typed, as a server keeps those of its booths' own user.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, func, or_, select, update
from sqlalchemy.orm import Session

from panel.store.guard_rows import wait_after
from panel.store.people import SignInSecret, SignInTry

KEPT = timedelta(days=30)


@dataclass
class Tries:
    """Wrong tries in a row under a code that nobody has."""

    stranger_hash: str
    failures: int = 0
    failed_at: datetime | None = None
    wait_s: int = 0


def tries_of_stranger(db: Session, code: str) -> Tries:
    """Return the count of one typed code; capital letters do not matter."""
    secret = db.scalar(select(SignInSecret.secret_hex).order_by(SignInSecret.id).limit(1)) or ""
    hashed = hashlib.sha256(f"{secret}{code.lower()}".encode()).hexdigest()
    counted = select(func.count(), func.max(SignInTry.tried_at))
    failures, failed_at = db.execute(counted.where(SignInTry.stranger_hash == hashed)).one()
    return Tries(hashed, failures, failed_at, wait_after(failures))


def keep_tries(db: Session, before: Tries, now: Tries, at: datetime) -> None:
    """Keep what a try made of them: one more, or a wait that begins anew."""
    db.execute(delete(SignInTry).where(SignInTry.tried_at < at - KEPT))
    if now.failures > before.failures:
        number = secrets.token_hex(32)
        row = {"seat_hash": number, "stranger_hash": now.stranger_hash, "transaction_id": ""}
        db.add(SignInTry(**row, tried_at=at))
    elif now.failed_at != before.failed_at:
        mine = SignInTry.stranger_hash == now.stranger_hash
        late = or_(SignInTry.tried_at == before.failed_at, SignInTry.tried_at > at)
        db.execute(update(SignInTry).where(mine, late).values(tried_at=at))
    db.flush()
