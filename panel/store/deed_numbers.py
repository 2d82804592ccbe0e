"""The numbers of what booths did; and among them that a booth was left.

A seat that was left keeps its token: on a server no booth may change the row. That the token opens
nothing any more stands here, under a number reckoned from what the tables keep of it.
"""

from __future__ import annotations

import hashlib
from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, Session, mapped_column

from panel.store.base import Base
from panel.store.booth_tray import DEED_DIGITS

LEFT = "left"
NUMBER_ON_SERVER = (
    f"substr(encode(sha256(convert_to('{LEFT} ' || encode(sha256(convert_to("
    f"current_setting('oakpanel.seat', true), 'UTF8')), 'hex'), 'UTF8')), 'hex'), 1, {DEED_DIGITS})"
)
"""The number of the leaving of the token that a transaction on a server shows, as `_number`."""


class BoothDeed(Base):
    """A deed that was done, under its page's number; `job_hash` tells whether it is the same."""

    __tablename__ = "booth_deed"
    __table_args__ = (
        CheckConstraint(f"length(number_hex) = {DEED_DIGITS}", name="number_of_a_length"),
    )

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    number_hex: Mapped[str] = mapped_column(primary_key=True)
    job_hash: Mapped[str]
    done_at: Mapped[datetime]


def left_at(db: Session, session_id: int, person_id: int, hashed: str) -> datetime | None:
    """Return when the booth was left whose token has that hash; None while it was not."""
    found = db.get(BoothDeed, (session_id, person_id, _number(hashed)))
    return None if found is None else found.done_at


def note_left(db: Session, session_id: int, person_id: int, hashed: str, now: datetime) -> None:
    """Keep that the booth of a token was left: once, however often that is said."""
    if left_at(db, session_id, person_id, hashed) is None:
        row = BoothDeed(session_id=session_id, person_id=person_id, number_hex=_number(hashed))
        row.job_hash, row.done_at = LEFT, now
        db.add(row)


def _number(hashed: str) -> str:
    return hashlib.sha256(f"{LEFT} {hashed}".encode()).hexdigest()[:DEED_DIGITS]
