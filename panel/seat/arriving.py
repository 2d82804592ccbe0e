"""Coming to a seat: signing in, or coming back by the seat's token; and whether all is over."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from panel.errors import BoothError
from panel.kinds import SessionStatus

if TYPE_CHECKING:
    from panel.store.booth_tray import Seat
    from panel.store.engine import Store

OWN_ROLE = (
    "Booths in browsers reach a PostgreSQL server as the booths' own user only, who cannot read "
    "the key: `oakpanel db booth-role NAME` makes it and tells its URL. Put that into OAKPANEL_DB, "
    "not into --db: every account of the machine can read what stands on a command line."
)


def session_of_booths(store: Store, named: str) -> str:
    """Return the name of the session that booths are served for.

    Raises
    ------
    UnknownRecord
        There is none of that name.
    BoothError
        The database is a server's, and this is not the booths' own user.
    """
    from panel.store.booth_queries import booth_session
    from panel.store.booth_user import is_booth

    with store.read() as db:
        if store.url.get_backend_name() == "postgresql" and not is_booth(db.connection()):
            raise BoothError(OWN_ROLE)
        return booth_session(db, named)


def sign_in(
    store: Store,
    session: str,
    code: str,
    pin: str,
    *,
    now: datetime,
    place: str,
) -> Seat:
    """Check code and PIN and take the seat. Raises as `panel.store.booth_seat.sign_in`."""
    from panel.store import booth_queries

    return booth_queries.sign_in(store, session, code, pin, now=now, place=place)


def come_back(store: Store, session: str, token: str) -> Seat | None:
    """Return the seat that a token opens, or opened until another booth took it."""
    from panel.store.booth_return import seat_behind

    with store.read() as db:
        return seat_behind(db, session, token)


def leave(store: Store, seat: Seat, now: datetime) -> None:
    """End the seat's token: the booth that shows it again is nobody's.

    Raises
    ------
    StoreError
        It could not be written: the token still opens the seat.
    """
    from panel.store import booth_queries

    with store.write() as db:
        booth_queries.leave_seat(db, seat, now)


def stage_of(store: Store, session: str) -> SessionStatus:
    """Return the stage that a session is at."""
    from panel.store import booth_return

    with store.read() as db:
        return booth_return.stage_of(db, session)


def stage_sentence(session: str, stage: SessionStatus) -> str:
    """Return why nobody scores at a stage, and what to do."""
    from panel.store import booth_seat

    return booth_seat.stage_sentence(session, stage)


def glass_number(store: Store, seat: Seat, code: str, pouring: int) -> int:
    """Return the number of a glass in the records, by what stands on it.

    Raises
    ------
    WrongGlass
        It is not on this seat's tray.
    """
    from panel.store.booth_return import glass_behind

    with store.read() as db:
        return glass_behind(db, seat, code, pouring)
