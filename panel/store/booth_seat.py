"""Signing in to a booth: code and PIN, wrong tries counted, one booth an assessor.

The count of wrong PINs lies in the database, so that a restart forgets nothing. A new sign-in of
the same assessor changes the seat's token; the booth that was there before can no longer save.
"""

from __future__ import annotations

import secrets
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlalchemy.orm import Session, load_only
from sqlalchemy.orm.interfaces import ORMOption

from panel.errors import (
    BoothError,
    NoneOpen,
    NotOpenNow,
    SeatTaken,
    SignInRefused,
    UnknownRecord,
)
from panel.kinds import SessionStatus
from panel.store.booth_tray import Seat
from panel.store.booth_user import (
    Answer,
    ask_to_sign_in,
    is_booth,
    salt_of,
    show_token,
    token_hash,
)
from panel.store.deed_numbers import left_at, note_left
from panel.store.engine import Store
from panel.store.house import read_setting
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.pin_guard import NO_PIN, REFUSED, settle_try, wait_of
from panel.store.pins import check_pin, proof_of
from panel.store.revisions import check_tables
from panel.store.sessions import BoothSeat, PanelSession, SessionAssessor

STAGE_WORDS = {
    SessionStatus.DRAFT: "is not open yet: the lead opens it",
    SessionStatus.SEALED: "is not open yet: the lead opens it",
    SessionStatus.CLOSED: "was closed: ask the lead, who can open it again",
    SessionStatus.REVEALED: "is over",
}
SHOWN = load_only(
    *(PanelSession.id, PanelSession.name, PanelSession.status, PanelSession.manner),
    *(PanelSession.may_go_back, PanelSession.pause_s, PanelSession.kind, PanelSession.most_words),
)
"""What a booth reads of a session; the lead's note is not among it."""


def open_sessions(db: Session) -> list[str]:
    """Return the names of the sessions that are open now."""
    is_open = PanelSession.status == SessionStatus.OPEN
    return list(db.scalars(select(PanelSession.name).where(is_open).order_by(PanelSession.name)))


def booth_session(db: Session, named: str | None) -> str:
    """Return the session a booth is for: the one named, else the only open one.

    Raises
    ------
    UnknownRecord
        No session has that name.
    NoneOpen
        None was named, and none or several are open.
    """
    if named is not None:
        return _session(db, named).name
    names = open_sessions(db)
    if len(names) == 1:
        return names[0]
    if not names:
        raise NoneOpen("No session is open yet. The lead opens one.")
    raise NoneOpen(
        f"{len(names)} sessions are open: {', '.join(names)}. Say which: `oakpanel booth NAME`."
    )


def sign_in(
    store: Store,
    session_name: str,
    code: str,
    pin: str,
    *,
    now: datetime,
    place: str | None = None,
) -> Seat:
    """Check code and PIN, count a wrong try, and give the assessor's one seat.

    Two short transactions of its own: the slow hash is reckoned while nobody holds the lock, and a
    wrong try is kept although the sign-in is refused.

    Raises
    ------
    SignInRefused
        Code and PIN do not go together (it is not said which was wrong), or no tray here.
    SignInWaits
        Too many wrong tries.
    WrongState
        The session is not open.
    TablesChanged
        The database was upgraded since this booth was started.
    """
    with store.read() as db:
        check_tables(db)
        _open_session(db, session_name)
        if is_booth(db.connection()):
            return _sign_in_at_server(store, session_name, code, pin, place)
        person = _person(db, code)
        stored = person.pin_hash if person is not None else None
    right = check_pin(pin, stored or NO_PIN) and stored is not None
    with store.write() as db:
        check_tables(db)
        outcome = _settle(db, session_name, code, right, now, place)
    if isinstance(outcome, BoothError):
        raise outcome
    return outcome


def _sign_in_at_server(
    store: Store, session_name: str, code: str, pin: str, place: str | None
) -> Seat:
    """Sign in as the booths' own user: the server counts the try, and tells the answer after it."""
    token = secrets.token_hex(16)
    with store.read() as db:
        proof = proof_of(pin, salt_of(db, code)) or bytes(32)
    for _ in ("counted", "answered"):
        with store.write() as db:
            check_tables(db)
            answer = ask_to_sign_in(db, session_name, code, proof, token, place)
            if answer.outcome == "not open":
                _open_session(db, session_name)
        if answer.outcome != "asked":
            break
    if answer.outcome == "seated":
        return Seat(answer.session_id, answer.person_id, answer.code, token)
    raise _refusal(answer, session_name)


def _refusal(answer: Answer, session_name: str) -> BoothError:
    if answer.outcome == "no tray":
        return _no_tray(answer.code, session_name)
    return wait_of(answer.tries, answer.still_s) if answer.still_s else SignInRefused(REFUSED)


def _no_tray(code: str, session_name: str) -> SignInRefused:
    return SignInRefused(f"{code} has no tray in {session_name}. Ask the lead.")


def _settle(
    db: Session,
    session_name: str,
    code: str,
    right: bool,
    now: datetime,
    place: str | None,
) -> Seat | BoothError:
    person = _person(db, code)
    refusal = settle_try(db, code, person, right=right, now=now)
    if refusal is not None or person is None:
        return refusal or SignInRefused(REFUSED)
    if db.get(SessionAssessor, (_open_session(db, session_name).id, person.id)) is None:
        return _no_tray(person.code, session_name)
    return take_seat(db, session_name, person.code, now=now, place=place)


def take_seat(
    db: Session, session_name: str, code: str, *, now: datetime, place: str | None = None
) -> Seat:
    """Give the seat of *code* to whoever calls, without a PIN, and fence the booth before it.

    For programs that hold the database anyway; people come in through `sign_in`.

    Raises
    ------
    SignInRefused
        That assessor has no tray in the session.
    WrongState
        The session is not open.
    """
    session = _open_session(db, session_name)
    person = _person(db, code)
    if person is None or db.get(SessionAssessor, (session.id, person.id)) is None:
        raise _no_tray(code, session_name)
    held = db.get(BoothSeat, (session.id, person.id), with_for_update=True)
    seat = held or BoothSeat(session_id=session.id, person_id=person.id)
    token = secrets.token_hex(16)
    seat.fenced_hash, seat.token_hash = held.token_hash if held else None, token_hash(token)
    seat.taken_at, seat.place = now, place
    db.add(seat)
    details = {"session": session_name, "took_over": held is not None}
    append_entry(db, at=now, by=person.code, action="booth signed in", details=details)
    return Seat(session.id, person.id, person.code, token)


def checked_session(db: Session, seat: Seat) -> PanelSession:
    """Return the session of a seat that may save now: its token is the newest, the session open.

    All that a booth saves or shows passes here first.

    Raises
    ------
    TablesChanged
        The database was upgraded since this booth was started.
    SeatTaken
        The same assessor signed in elsewhere since, or left this booth.
    WrongState
        The session is no longer open.
    """
    show_token(db, seat.token)
    check_tables(db)
    held = db.get(
        BoothSeat, (seat.session_id, seat.person_id), with_for_update=True, populate_existing=True
    )
    if held is None or held.token_hash != token_hash(seat.token):
        raise SeatTaken(_taken_over(db, seat, held))
    if (left := left_at(db, seat.session_id, seat.person_id, held.token_hash)) is not None:
        raise SeatTaken(f"{seat.code} left this booth{_hour(db, left)}. It no longer saves.")
    session = db.get(PanelSession, seat.session_id, options=shown(db), populate_existing=True)
    if session is None or session.status is not SessionStatus.OPEN:
        raise NotOpenNow(_not_open(session))
    return session


def _taken_over(db: Session, seat: Seat, held: BoothSeat | None) -> str:
    where = f" ({held.place})" if held is not None and held.place else ""
    at = _hour(db, held.taken_at) if held is not None else ""
    return f"{seat.code} signed in at another booth{where}{at}. This one no longer saves."


def _hour(db: Session, moment: datetime) -> str:
    zone = ZoneInfo(str(read_setting(db, "time_zone")))
    return f" at {moment.astimezone(zone):%H:%M}"


def leave_seat(db: Session, seat: Seat, now: datetime) -> None:
    """End a booth's token: whoever shows it again opens nothing; all that is kept stays.

    One that another booth took the seat from has ended already. A session that is closed may be
    opened again, so that the leaving is noted then too; but the booths' own user of a server may
    write only while it is open. A seat left there after the closing is not noted: its token would
    open the tray again once the session is opened again, until somebody else signs in to the seat.

    Raises
    ------
    TablesChanged
        The database was upgraded since this booth was started.
    """
    show_token(db, seat.token)
    check_tables(db)
    held = db.get(BoothSeat, (seat.session_id, seat.person_id), populate_existing=True)
    session = db.get(PanelSession, seat.session_id, options=shown(db))
    if held is None or held.token_hash != token_hash(seat.token):
        return
    if session is not None and _may_note(db, session.status):
        note_left(db, seat.session_id, seat.person_id, held.token_hash, now)


def _may_note(db: Session, stage: SessionStatus) -> bool:
    closed = stage is SessionStatus.CLOSED
    return stage is SessionStatus.OPEN or (closed and not is_booth(db.connection()))


def _not_open(session: PanelSession | None) -> str:
    if session is None:
        return "The session is no longer in the records. Ask the lead."
    return stage_sentence(session.name, session.status)


def stage_sentence(name: str, stage: SessionStatus) -> str:
    """Return why nobody scores at a stage, and what to do."""
    return f"Session {name} {STAGE_WORDS[stage]}."


def shown(db: Session) -> list[ORMOption]:
    """Return what a booths' own user asks of a session; whoever reads it all asks for all."""
    return [SHOWN] if is_booth(db.connection()) else []


def _session(db: Session, name: str) -> PanelSession:
    asked = select(PanelSession).options(*shown(db))
    session = db.scalar(asked.where(PanelSession.name == name))
    if session is None:
        names = ", ".join(open_sessions(db)) or "none"
        raise UnknownRecord(f"There is no session {name!r}. Open now: {names}.")
    return session


def _open_session(db: Session, name: str) -> PanelSession:
    session = _session(db, name)
    if session.status is not SessionStatus.OPEN:
        raise NotOpenNow(_not_open(session))
    return session


def _person(db: Session, code: str) -> Person | None:
    """Find a person by code; capital or small letters do not matter where it stays clear who."""
    exact = db.scalar(select(Person).where(Person.code == code))
    if exact is not None:
        return exact
    alike = db.scalars(select(Person).where(func.lower(Person.code) == code.lower())).all()
    return alike[0] if len(alike) == 1 else None
