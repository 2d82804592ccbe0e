"""Deeds of a booth in a browser by the numbers that its page gave them, each done once.

A page sends a deed again when it heard nothing of it: the line dropped, the server was started
anew, a finger tapped twice. What was done is then answered, and nothing is done again. The numbers
of a session go with its reveal, for nothing is sent to it any more.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import delete
from sqlalchemy.orm import Session

from panel.errors import BoothError
from panel.store.booth_seat import checked_session
from panel.store.booth_tray import Seat
from panel.store.deed_numbers import BoothDeed


def done_before(db: Session, seat: Seat, number: str, job_hash: str) -> datetime | None:
    """Return when this deed was done, None where it was not; the seat is held until the commit.

    Raises
    ------
    SeatTaken, WrongState
        Another booth of this assessor, or the session is not open.
    BoothError
        Another deed was done under this number.
    """
    checked_session(db, seat)
    found = db.get(BoothDeed, (seat.session_id, seat.person_id, number))
    if found is None:
        return None
    if found.job_hash != job_hash:
        raise BoothError("Not kept: that number stands for another deed. Load the page again.")
    return found.done_at


def note_deed(db: Session, seat: Seat, number: str, job_hash: str, now: datetime) -> None:
    """Keep the number of a deed in the transaction that does it."""
    db.add(
        BoothDeed(
            session_id=seat.session_id,
            person_id=seat.person_id,
            number_hex=number,
            job_hash=job_hash,
            done_at=now,
        )
    )


def forget_deeds(db: Session, session_id: int) -> None:
    """Forget the numbers of a session that nobody sends anything to any more."""
    db.execute(delete(BoothDeed).where(BoothDeed.session_id == session_id))
