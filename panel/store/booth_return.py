"""Coming back to a seat by its token alone, as a browser does after its server was started anew."""

from __future__ import annotations

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from panel.errors import WrongGlass
from panel.kinds import SessionStatus
from panel.store.booth_reading import servings_of
from panel.store.booth_tray import Seat
from panel.store.booth_user import show_token, token_hash
from panel.store.deed_numbers import left_at
from panel.store.people import Person
from panel.store.revisions import check_tables
from panel.store.sessions import BoothSeat, PanelSession, Serving

NOBODY_NAMED = "The assessor of this booth"
"""Where the server does not show whose seat it was: a newer booth has it, or all is over."""


def seat_behind(db: Session, session_name: str, token: str) -> Seat | None:
    """Return the seat of a session that a token opens, or opened until another booth took it.

    One that was left opens nothing. Whether it may still save is for `checked_session` to say, at
    every deed.
    """
    show_token(db, token)
    known = token_hash(token)
    asked = (
        select(BoothSeat.session_id, BoothSeat.person_id)
        .join(PanelSession, PanelSession.id == BoothSeat.session_id)
        .where(PanelSession.name == session_name)
        .where(or_(BoothSeat.token_hash == known, BoothSeat.fenced_hash == known))
    )
    found = db.execute(asked).one_or_none()
    if found is None:
        return None
    session_id, person_id = found
    if left_at(db, session_id, person_id, known) is not None:
        return None
    code = db.scalar(select(Person.code).where(Person.id == person_id))
    return Seat(session_id, person_id, code or NOBODY_NAMED, token)


def stage_of(db: Session, session_name: str) -> SessionStatus:
    """Return the stage of a session; one that is not shown any more is over.

    Raises
    ------
    TablesChanged
        The database was upgraded since this program was started.
    """
    check_tables(db)
    asked = select(PanelSession.status).where(PanelSession.name == session_name)
    return db.scalar(asked) or SessionStatus.REVEALED


def glass_behind(db: Session, seat: Seat, code: str, pouring: int) -> int:
    """Return the number of a glass of this seat's, by what stands on it.

    Raises
    ------
    WrongGlass
        There is none.
    """
    show_token(db, seat.token)
    asked = servings_of(seat).with_only_columns(Serving.id)
    found = db.scalar(asked.where(Serving.code == code, Serving.pouring == pouring))
    if found is None:
        raise WrongGlass(f"{code} is not on your tray. Look at the glass again.")
    return found
