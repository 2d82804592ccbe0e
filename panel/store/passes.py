"""Passes: who typed their PIN need not type it again for an hour, at this account.

The pass itself is 32 random bytes in a file of the account's own; the database knows its SHA-256,
whose it is and when it ends. Whoever reads the database cannot make the file from it.
"""

from __future__ import annotations

import secrets
from contextlib import suppress
from datetime import datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

from sqlalchemy import ForeignKey, or_, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from panel.own_folder import write_own
from panel.store.base import Bound
from panel.store.seen import own_file

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy.engine import URL

    from panel.store.people import Person

LASTS = timedelta(hours=1)
BYTES = 32
OTHERS_MAY_READ = 0o077


class HourPass(Bound):
    """A pass that was given: its digest, whose it is, when it ends."""

    __tablename__ = "hour_pass"

    digest_hex: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    ends_at: Mapped[datetime]


def give_pass(db: Session, url: URL, person: Person, *, now: datetime) -> bool:
    """Give this account a pass of a person, in the place of the one it had.

    False where the account's folder cannot be written: then the PIN is asked each time.
    """
    end_passes(db, now=now, held=read_pass(url))
    secret = secrets.token_bytes(BYTES)
    try:
        write_own(_file(url), secret)
    except OSError:
        return False
    db.add(HourPass(digest_hex=_digest(secret), person_id=person.id, ends_at=now + LASTS))
    return True


def holds_pass(db: Session, url: URL, person: Person, *, now: datetime) -> bool:
    """Tell whether this account holds a pass of *person* that has not ended.

    A clock from before the pass was given makes it worth nothing.
    """
    secret = read_pass(url)
    held = None if secret is None else db.get(HourPass, _digest(secret))
    if held is None or held.person_id != person.id:
        return False
    return held.ends_at - LASTS <= now < held.ends_at


def end_passes(
    db: Session,
    *,
    now: datetime | None = None,
    person: Person | None = None,
    held: bytes | None = None,
) -> int:
    """Take back the passes of a person, the one *held*, and those that are over; count them."""
    which = [
        *([] if person is None else [HourPass.person_id == person.id]),
        *([] if held is None else [HourPass.digest_hex == _digest(held)]),
        *([] if now is None else [HourPass.ends_at <= now]),
    ]
    ended = db.scalars(select(HourPass).where(or_(*which))).all() if which else ()
    for each in ended:
        db.delete(each)
    db.flush()
    return len(ended)


def read_pass(url: URL) -> bytes | None:
    """Return the pass that this account holds; None where others could have read it as well."""
    path = _file(url)
    with suppress(OSError):
        secret = path.read_bytes()
        if len(secret) == BYTES and not path.stat().st_mode & OTHERS_MAY_READ:
            return secret
    return None


def drop_pass(url: URL) -> bytes | None:
    """Delete the pass of this account, and return what it was."""
    secret = read_pass(url)
    with suppress(OSError):
        _file(url).unlink(missing_ok=True)
    return secret


def _digest(secret: bytes) -> str:
    return sha256(secret).hexdigest()


def _file(url: URL) -> Path:
    return own_file(url, "passes")
