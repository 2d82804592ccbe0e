"""What the log keeps of figures that were signed, once an erasure has changed their words."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from panel.store.log import LogEntry, clear_entries
from panel.store.releases import Release, digest_of_found


def digests_of_releases(db: Session) -> dict[int, str]:
    """Return by release the digest of what was found of it, as it is now."""
    asked = select(Release.id, Release.found_json).where(Release.found_json.is_not(None))
    return {key: digest_of_found(said) for key, said in db.execute(asked)}


def clear_digests(db: Session, before: Mapping[int, str]) -> int:
    """Empty the entries that hold the digest of figures whose words are others now.

    All the rest of such figures is known: who put one code after another where the pseudonym
    stands would find the digest, and with it who was erased. Returns how many were emptied.
    """
    now = digests_of_releases(db)
    gone = [digest for key, digest in before.items() if now.get(key) != digest]
    if not gone:
        return 0
    holds = or_(*(LogEntry.body_json.contains(digest) for digest in gone))
    return clear_entries(db, db.scalars(select(LogEntry).where(holds).order_by(LogEntry.id)).all())
