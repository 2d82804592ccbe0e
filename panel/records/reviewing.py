"""Matters of the review, ticked as somebody has seen to them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import EntriesAtFault
from panel.records.deed import deed
from panel.store.review_ticks import ReviewTick

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class SeenTo:
    """A matter of a filling, and the day of the record that it stands on."""

    filling_id: int
    cask: str
    reason: str
    stands_on: date


@dataclass(frozen=True)
class Ticked:
    """What was ticked."""

    casks: tuple[str, ...]
    reasons: tuple[str, ...]
    note: str | None


def tick_matters(
    db: Session,
    matters: Sequence[SeenTo],
    *,
    note: str | None = None,
    now: datetime,
    by: str | None,
) -> Ticked:
    """Keep that matters of the review were seen to; each comes back with a newer record alone.

    Nothing is written into the records of the casks: a repair, a gauge or a hold that was lifted
    is written down as such.

    Raises
    ------
    UnknownRecord, NotAllowed
        Whoever acts does not lead.
    EntriesAtFault
        Nothing needs somebody there.
    """
    with deed(db, "review ticked", now=now, by=by) as done:
        if not matters:
            wrong = "Nothing of the review stands open there: look at it again."
            raise EntriesAtFault({"cask": wrong})
        said = (note or "").strip() or None
        for each in matters:
            if not _held(db, each):
                db.add(
                    ReviewTick(
                        filling_id=each.filling_id,
                        reason=each.reason,
                        stands_on=each.stands_on,
                        done_at=now,
                        by_code=done.by,
                        note=said,
                    )
                )
        casks = tuple(dict.fromkeys(each.cask for each in matters))
        reasons = tuple(dict.fromkeys(each.reason for each in matters))
        done.details.update(casks=list(casks), reasons=list(reasons), note=said is not None)
        return Ticked(casks, reasons, said)


def _held(db: Session, matter: SeenTo) -> bool:
    same = select(ReviewTick.id).where(
        ReviewTick.filling_id == matter.filling_id,
        ReviewTick.reason == matter.reason,
        ReviewTick.stands_on == matter.stands_on,
    )
    return db.scalar(same) is not None
