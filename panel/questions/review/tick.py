"""Ticking by cask: the matters that stand open there now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.questions.cask_life import find_cask
from panel.questions.review.review import matters_of
from panel.records.reviewing import SeenTo, Ticked, tick_matters
from panel.store.house import today_at_site

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy.orm import Session

    from panel.questions.review.matters import Reason


def tick_casks(
    db: Session,
    casks: Sequence[str],
    *,
    reason: Reason | None = None,
    note: str | None = None,
    now: datetime,
    by: str | None,
) -> Ticked:
    """Keep that what some casks are in the review for was seen to, or one reason of it.

    Raises
    ------
    UnknownRecord, NotAllowed, EntriesAtFault
        There is no such cask; whoever acts does not lead; or nothing stands open there.
    """
    for cask in casks:
        find_cask(db, cask)
    open_there = matters_of(db, casks, as_of=today_at_site(db, now), reason=reason)
    seen = [SeenTo(m.filling_id, m.cask, m.reason.value, m.stands) for m in open_there]
    return tick_matters(db, seen, note=note, now=now, by=by)
