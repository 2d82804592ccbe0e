"""One change of the house's own records: who did it, and the one log entry at its end."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from panel.store.house import today_at_site
from panel.store.log import append_entry
from panel.store.who import lead_or_first

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session


@dataclass
class Deed:
    """Who acts, the day at the site, and what the log entry will hold."""

    by: str
    on: date
    details: dict[str, object] = field(default_factory=dict)


@contextmanager
def deed(db: Session, action: str, *, now: datetime, by: str | None) -> Iterator[Deed]:
    """Let a lead (in a house that has none yet, whoever acts) change something, and log it.

    Raises
    ------
    UnknownRecord, NotAllowed
        There are leads, and the one who acts is none of them or was not named.
    """
    today = today_at_site(db, now)
    done = Deed(lead_or_first(db, by, on=today), today)
    yield done
    append_entry(db, at=now, by=done.by, action=action, details=done.details)
