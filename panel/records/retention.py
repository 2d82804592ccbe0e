"""What is kept for some time only, dropped when that is over.

It is done before an act that writes anyway and when the desk is opened, never by what only reads:
until then nobody is told it all the same (`panel.store.retention`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.store.house import today_at_site
from panel.store.log import append_entry
from panel.store.retention import own_marks_past

if TYPE_CHECKING:
    from datetime import datetime

    from panel.store.engine import Store

BY = "retention"
"""Who drops it: it stands in the log, where no person does it."""


def drop_what_is_past(store: Store, *, now: datetime) -> int:
    """Take marks of not being at one's best off whose time is over; return how many there were.

    The entry in the log tells how many, of nobody by name: the log outlives the mark.
    """
    with store.read() as db:
        if not own_marks_past(db, today_at_site(db, now)):
            return 0
    with store.write() as db:
        past = own_marks_past(db, today_at_site(db, now))
        for seat in past:
            seat.not_at_best = False
        if past:
            details = {"own_marks": len(past)}
            append_entry(db, at=now, by=BY, action="own marks dropped", details=details)
        return len(past)
