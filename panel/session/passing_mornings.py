"""A parcel passed over several mornings: which of its casks no morning has taken yet."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord
from panel.kinds import SessionStatus
from panel.session.passing_parcel import parcel_draws
from panel.store.draws import Draw
from panel.store.key import PlannedDraw
from panel.store.passed_glasses import passed_glasses
from panel.store.passing import Passing
from panel.store.sessions import PanelSession


def left_of_parcel(
    db: Session, parcel: str, on: date, *, besides: str | None = None
) -> tuple[str, ...]:
    """Return the newest samples of a parcel that no passing session takes, in order of casks.

    A cask that was drawn from anew waits again. `besides` is a draft that is planned anew.

    Raises
    ------
    UnknownRecord
        There is no such parcel, or no cask of it was drawn from.
    """
    taken = _taken(db, besides)
    return tuple(label for label in parcel_draws(db, parcel, on) if label not in taken)


def next_of_parcel(
    db: Session, parcel: str, on: date, casks: int, *, besides: str
) -> tuple[str, ...]:
    """Return so many of what waits of a parcel, or all of it where less waits.

    Raises
    ------
    UnknownRecord
        There is no such parcel, no cask of it was drawn from, or nothing waits.
    """
    left = left_of_parcel(db, parcel, on, besides=besides)
    if not left:
        raise UnknownRecord(
            f"A passing session takes every cask of the parcel {parcel!r} by its newest sample. "
            "To pass it again draw anew, or leave out how many casks (--casks): then all of it "
            "is laid out."
        )
    return left[:casks]


def _taken(db: Session, besides: str | None) -> set[str]:
    """Return the samples that passing sessions pour; of a revealed one those that were nosed.

    Before the reveal what was nosed would tell which cask a code is.
    """
    planned = (
        select(Draw.label)
        .join(PlannedDraw, PlannedDraw.draw_id == Draw.id)
        .join(Passing, Passing.session_id == PlannedDraw.session_id)
        .join(PanelSession, PanelSession.id == Passing.session_id)
        .where(PanelSession.status != SessionStatus.REVEALED, PanelSession.rehearsal.is_(False))
    )
    if besides is not None:
        planned = planned.where(PanelSession.name != besides)
    return set(db.scalars(planned)) | {glass.sample for glass in passed_glasses(db)}
