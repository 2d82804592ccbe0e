"""A parcel passed over several mornings: which of its casks no morning has taken yet."""

from __future__ import annotations

from collections.abc import Collection
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
            f"Every cask of the parcel {parcel!r} is taken by its newest sample, in "
            f"{' and '.join(_taken_in(db, parcel_draws(db, parcel, on), besides))}. A draft that "
            "is dropped gives its casks back; to pass some again name their samples (--draw; the "
            "field Draws) and no parcel, or draw anew."
        )
    return left[:casks]


def _taken_in(db: Session, samples: Collection[str], besides: str) -> list[str]:
    """Return the passing sessions that take some of the samples, each with where it stands."""
    asked = (
        select(PanelSession)
        .join(Passing, Passing.session_id == PanelSession.id)
        .join(PlannedDraw, PlannedDraw.session_id == PanelSession.id)
        .join(Draw, Draw.id == PlannedDraw.draw_id)
        .where(Draw.label.in_(samples), PanelSession.rehearsal.is_(False))
        .where(PanelSession.name != besides)
        .order_by(PanelSession.held_on, PanelSession.name)
    )
    return [f"{each.name} ({each.status.value})" for each in db.scalars(asked.distinct())]


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
