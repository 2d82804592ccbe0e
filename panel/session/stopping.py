"""A draw that is not safe to nose or taste: stopped for every seat at once, under all its codes.

Safety comes before blindness. Codes that are stopped together stand for the same draw, and whoever
has two of them may know; what the draw is stays in the key.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from panel.errors import SessionError
from panel.kinds import KEY_IS_SECRET, ServingStatus
from panel.session.found import session_at
from panel.session.marks import mark_row, standing_glass
from panel.store.key import KeyRow, behind_serving
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving

STANDS = (ServingStatus.KEPT, ServingStatus.SWAP_SUSPECTED)
"""Marks of a glass that somebody may still have in hand, or yet take."""
OVER = "Once it is revealed nobody noses any more: put the cask on hold at the desk."


@dataclass(frozen=True)
class StoppedGlass:
    """A glass that was taken from its tray."""

    assessor: str
    code: str


@dataclass(frozen=True)
class StoppedDraw:
    """Where a draw was stopped; what it is stays in the key."""

    session: str
    pouring: int
    """Of the glass that was named."""
    glasses: tuple[StoppedGlass, ...]

    @property
    def codes(self) -> tuple[str, ...]:
        """Under which codes it stood."""
        return tuple(sorted({glass.code for glass in self.glasses}))

    @property
    def n_seats(self) -> int:
        """From how many trays it was taken."""
        return len({glass.assessor for glass in self.glasses})

    def sentence(self) -> str:
        """Say which codes nobody noses any more, and what to do in the room."""
        trays = "1 tray" if self.n_seats == 1 else f"{self.n_seats} trays"
        return (
            f"Not safe: {', '.join(self.codes)} stopped on {trays}. Say so aloud, take every one "
            "of these glasses away, and keep the bottle apart until it is known what is in it."
        )


def stop_draw(
    db: Session,
    session: str,
    assessor: str,
    code: str,
    *,
    now: datetime,
    by: str,
    note: str | None = None,
) -> StoppedDraw:
    """Make every glass of the draw behind one glass void, on all trays of the session.

    Scores are kept and left out, as of any void glass; each mark can be taken back by itself.

    Raises
    ------
    UnknownRecord, WrongState
        No such session before its reveal, assessor or glass.
    SessionError
        Nothing of the draw stands on a tray any more.
    """
    held = session_at(db, session, *KEY_IS_SECRET, deed="stopping a draw", too_late=OVER)
    glass = standing_glass(db, held, assessor, code)
    behind = select(KeyRow.draw_id).select_from(Serving).join(Serving.person)
    draw = db.scalars(behind.join(KeyRow, behind_serving()).where(Serving.id == glass.id)).one()
    found = _standing(db, held, draw)
    if not found:
        raise SessionError(f"Glass {code} of {assessor} and all of its draw are void already.")
    for each, _ in found:
        mark_row(db, each, ServingStatus.VOID, now=now, by=by, note=note or "not safe")
    taken = tuple(StoppedGlass(who, each.code) for each, who in found)
    stopped = StoppedDraw(held.name, glass.pouring, taken)
    pairs = [[each.assessor, each.code] for each in stopped.glasses]
    details = {"session": held.name, "assessor": assessor, "code": code, "glasses": pairs}
    append_entry(db, at=now, by=by, action="draw stopped as not safe", details=details)
    return stopped


def _drawn() -> Select[Serving, str]:
    """Return the question for glasses, whose they are, and their rows of the key."""
    asked = select(Serving, Person.code).join(Person, Person.id == Serving.person_id)
    return asked.join(KeyRow, behind_serving())


def _standing(db: Session, held: PanelSession, draw: int) -> list[tuple[Serving, str]]:
    """Return the glasses of a draw that somebody may nose, seat by seat."""
    asked = _drawn().where(
        Serving.session_id == held.id, KeyRow.draw_id == draw, Serving.status.in_(STANDS)
    )
    found = db.execute(asked.order_by(Person.code, Serving.id))
    return [(glass, who) for glass, who in found]
