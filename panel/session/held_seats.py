"""Who sits at a booth that may still save: before something takes the seat without their doing."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from sqlalchemy import select

from panel.errors import SessionError
from panel.store.deed_numbers import left_at
from panel.store.house import read_setting
from panel.store.people import Person
from panel.store.sessions import BoothSeat

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.sessions import PanelSession

FROM_PAPER = "from paper"
"""Where ballots are keyed in nobody sits."""
HOW_IT_ENDS = (
    "Keying in ends such a booth: it saves no more, and what it has not kept yet is lost. Whoever "
    "sits there leaves it first: l in a terminal, Leave this booth in a browser."
)


@dataclass(frozen=True)
class HeldSeat:
    """A booth that was signed in at and not left since; its machine may be dead all the same."""

    assessor: str
    place: str | None
    since: str

    def words(self) -> str:
        """Return it as a sentence."""
        where = f" ({self.place})" if self.place else ""
        return f"{self.assessor} signed in at a booth{where} at {self.since} and has not left it."


class SeatsHeld(SessionError):
    """Seats are held by booths, and nobody said that they may be taken."""

    def __init__(self, held: tuple[HeldSeat, ...]) -> None:
        told = [seat.words() for seat in held]
        flags = " ".join(f"--take-seat {seat.assessor}" for seat in held)
        anyway = f"If that machine is dead, or the booth is to end all the same: {flags}."
        super().__init__("\n".join([*told, HOW_IT_ENDS, anyway]))
        self.held = held


def held_seats(db: Session, session: PanelSession, codes: Collection[str]) -> tuple[HeldSeat, ...]:
    """Return which of these assessors' seats a booth holds in a session, by code."""
    zone = ZoneInfo(str(read_setting(db, "time_zone")))
    asked = (
        select(Person.code, BoothSeat)
        .join(Person, Person.id == BoothSeat.person_id)
        .where(BoothSeat.session_id == session.id, Person.code.in_(codes))
        .order_by(Person.code)
    )
    return tuple(
        HeldSeat(code, seat.place, f"{seat.taken_at.astimezone(zone):%H:%M}")
        for code, seat in db.execute(asked)
        if seat.place != FROM_PAPER
        and left_at(db, seat.session_id, seat.person_id, seat.token_hash) is None
    )


def refuse_held(
    db: Session, session: PanelSession, codes: Collection[str], take: Collection[str]
) -> tuple[str, ...]:
    """Return whose booths end by it, all of them named in *take*.

    Raises
    ------
    SeatsHeld
        A booth holds a seat, and *take* does not name whose.
    SessionError
        *take* names somebody of whom nothing is keyed.
    """
    if strangers := sorted(set(take) - set(codes)):
        raise SessionError(f"Nothing is keyed of {', '.join(strangers)}: no seat to take.")
    held = held_seats(db, session, codes)
    if untold := tuple(seat for seat in held if seat.assessor not in take):
        raise SeatsHeld(untold)
    return tuple(seat.assessor for seat in held)
