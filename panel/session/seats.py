"""Who does not come and who comes late, once codes and key are fixed: before the reveal, blind.

Codes, key and what is poured stay. A late assessor takes over the tray of somebody who is not
there, as it stands; else gets a tray of glasses under the codes that there are, in an order drawn
from the secret bits. Trays are part of what was sealed, so the key is checked against its hash
first, and the session is sealed anew in the same entry of the log.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import zip_longest

from sqlalchemy import delete, exists, select
from sqlalchemy.orm import Session

from panel.errors import KeyChanged, SessionError
from panel.kinds import ServingStatus, SessionStatus
from panel.session.care import faults_of_session
from panel.session.elsewhere.recalled import refuse_without_key
from panel.session.found import session_at
from panel.session.late_seat import SeatMove, lay_late_tray
from panel.session.marks import mark_row
from panel.session.passing_holds import on_no_tray
from panel.session.plan_parts import seat_fault
from panel.session.seal import KEY_FORM, key_hash
from panel.session.stages import seal_of
from panel.store.finding import nearest_words
from panel.store.key import KeyRow
from panel.store.log import append_entry, entries_about
from panel.store.own_words import OwnWord
from panel.store.people import Person
from panel.store.sessions import BoothSeat, PanelSession, Serving, SessionAssessor
from panel.store.site_packs import away_packs

DID_NOT_COME = "did not come"
TELLING = ("pour sheet printed", "day sheet printed")
"""Entries of the log after which glasses are poured, and who printed knows the key."""


@dataclass(frozen=True)
class SeatsChanged:
    """Who sits where now. `void`: whose poured glasses nobody noses; `gone`: whose were not poured.

    `notes` is what the lead has to know or to do.
    """

    session: str
    key_hash: str
    log_head: str
    late: tuple[SeatMove, ...]
    void: tuple[str, ...]
    gone: tuple[str, ...]
    notes: tuple[str, ...]

    def lines(self) -> Iterator[str]:
        """Give it as a person reads it."""
        yield from self.moved()
        yield f"Key SHA-256  {self.key_hash}"
        yield f"Log head     {self.log_head}"

    def moved(self) -> Iterator[str]:
        """Say who sits where now, and whose glasses nobody noses."""
        for move in self.late:
            tray = f"the tray of {move.instead_of}" if move.instead_of else "a tray of their own"
            yield f"{move.assessor} sits at seat {move.seat} with {tray}: {move.glasses} glasses."
        for code in self.void:
            yield f"{code} did not come: the glasses are poured, and void."
        for code in self.gone:
            yield f"{code} does not come: the seat is free and nothing is poured for it."

    json_keys = ("session", "key_hash", "log_head", "late", "void", "gone", "notes")


def change_seats(
    db: Session,
    name: str,
    *,
    absent: Sequence[str] = (),
    late: Sequence[str] = (),
    now: datetime,
    by: str,
) -> SeatsChanged:
    """Take people out who do not come, and in who come late, and seal the trays anew.

    Late assessors take over the trays of absent ones in the order they are named. A tray that
    nobody takes over is void where it may be poured already, else it goes.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session that is sealed or open.
    SessionError
        Somebody cannot be taken out or in, or would pass a cap on ethanol; all reasons at once.
    KeyChanged
        The key is not the one that was sealed.
    """
    stages = (SessionStatus.SEALED, SessionStatus.OPEN)
    session = session_at(db, name, *stages, deed="changing who sits there")
    refuse_without_key(db, session, "changing who sits there")
    people = {person.code: person for person in db.scalars(select(Person))}
    _refuse(name, [*_faults(db, session, people, absent, late)])
    _check_seal(db, session)
    poured = bool(_printed_by(db, session))
    moves: list[SeatMove] = []
    left: dict[bool, list[str]] = {True: [], False: []}
    for out, into in zip_longest(absent, late):
        if into is None:
            _leave(db, session, people[out], poured=poured, now=now, by=by)
            left[poured].append(out)
        elif out is None:
            moves.append(lay_late_tray(db, session, people[into]))
        else:
            moves.append(_hand_over(db, session, people[out], people[into]))
    _mark_who_knows(db, session, late)
    _refuse(name, faults_of_session(db, session, session.held_on))
    sealed = _seal_anew(db, session, absent, late, now=now, by=by)
    noted = [*_notes(db, session, late, poured=poured)]
    if absent and session.kind.facts.passes:
        noted += on_no_tray(db, session)
    void, gone, notes = tuple(left[True]), tuple(left[False]), tuple(noted)
    return SeatsChanged(name, session.key_hash or "", sealed, tuple(moves), void, gone, notes)


def _refuse(name: str, faults: Sequence[str]) -> None:
    if faults:
        listed = "\n".join(f"  - {fault}" for fault in faults)
        raise SessionError(f"Nobody's seat in session {name!r} was changed.\n{listed}")


def _faults(
    db: Session,
    session: PanelSession,
    people: dict[str, Person],
    absent: Sequence[str],
    late: Sequence[str],
) -> Iterator[str]:
    if not absent and not late:
        yield "Say who does not come, or who comes late."
    named = [*absent, *late]
    for code in dict.fromkeys(code for code in named if named.count(code) > 1):
        yield f"{code} is named twice."
    seats = {seat.person.code: seat for seat in session.assessors}
    for pack in away_packs(db, session.id):
        gone = sorted({seat.person.code for seat in pack.seats} & set(named))
        if gone:
            yield f"{', '.join(gone)}: the tray is at {pack.site}. Call it back first."
    for code in dict.fromkeys(absent):
        yield from _faults_of_absent(db, seats, code)
    for code in dict.fromkeys(late):
        yield from _faults_of_late(db, session, people, seats, code)
    if absent and not late and set(seats) <= set(absent):
        yield "Nobody would be left: close the session, or plan another day."


def _faults_of_absent(db: Session, seats: dict[str, SessionAssessor], code: str) -> Iterator[str]:
    if code not in seats:
        yield f"{code!r} has no seat in the session.{nearest_words(code, seats)}"
    elif _has_begun(db, seats[code]):
        yield f"{code} has begun to nose, so the tray stays: mark single glasses void instead."


def _faults_of_late(
    db: Session,
    session: PanelSession,
    people: dict[str, Person],
    seats: dict[str, SessionAssessor],
    code: str,
) -> Iterator[str]:
    if code not in people:
        yield f"There is nobody with the code {code!r}.{nearest_words(code, people)}"
    elif code in seats:
        yield f"{code} has a seat already."
    elif session.held_on and (fault := seat_fault(db, people[code], session.kind, session.held_on)):
        yield f"{code} {fault}"


def _has_begun(db: Session, seat: SessionAssessor) -> bool:
    here = (Serving.session_id == seat.session_id, Serving.person_id == seat.person_id)
    named = (OwnWord.session_id == seat.session_id, OwnWord.person_id == seat.person_id)
    taken = exists().where(*here, Serving.taken_at.is_not(None))
    return bool(db.scalar(select(taken | exists().where(*named))))


def _check_seal(db: Session, session: PanelSession) -> None:
    seal = seal_of(db, session)
    if seal.hash_hex is None or key_hash(db, session.id, seal.form) != seal.hash_hex:
        raise KeyChanged(
            f"The key of session {session.name!r} is not the one that was sealed, so it is not "
            "sealed anew. `oakpanel db check` tells what was edited past the program."
        )


def _printed_by(db: Session, session: PanelSession) -> set[str]:
    """Return who printed a sheet that tells the key, by the log."""
    return {str(told["by"]) for _, told in entries_about(db, TELLING, session.name)}


def _leave(
    db: Session, session: PanelSession, person: Person, *, poured: bool, now: datetime, by: str
) -> None:
    mine = (Serving.session_id == session.id, Serving.person_id == person.id)
    if poured:
        for glass in db.scalars(select(Serving).where(*mine)):
            if glass.status is not ServingStatus.VOID:
                mark_row(db, glass, ServingStatus.VOID, now=now, by=by, note=DID_NOT_COME)
        return
    own_key = (KeyRow.session_id == session.id, KeyRow.tray == person.code)
    db.execute(delete(Serving).where(*mine))
    db.execute(delete(KeyRow).where(*own_key))
    _free_seat(db, session, person)


def _free_seat(db: Session, session: PanelSession, person: Person) -> int:
    """Take the seat and its booth away and return its number."""
    seat = db.get_one(SessionAssessor, (session.id, person.id))
    number = seat.seat
    booth = (BoothSeat.session_id == session.id, BoothSeat.person_id == person.id)
    db.execute(delete(BoothSeat).where(*booth))
    db.delete(seat)
    db.flush()
    db.expire(session)
    return number


def _hand_over(db: Session, session: PanelSession, absent: Person, late: Person) -> SeatMove:
    """Give a tray on as it stands: order, codes and the marks on its glasses."""
    mine = (Serving.session_id == session.id, Serving.person_id == absent.id)
    glasses = list(db.scalars(select(Serving).where(*mine)))
    number = _free_seat(db, session, absent)
    db.add(SessionAssessor(session_id=session.id, person_id=late.id, seat=number))
    for glass in glasses:
        glass.person_id = late.id
    own_key = (KeyRow.session_id == session.id, KeyRow.tray == absent.code)
    for row in db.scalars(select(KeyRow).where(*own_key)):
        row.tray = late.code
    db.flush()
    db.expire(session)
    standing = sum(glass.status is not ServingStatus.RE_POURED for glass in glasses)
    return SeatMove(late.code, number, standing, absent.code)


def _mark_who_knows(db: Session, session: PanelSession, late: Sequence[str]) -> None:
    printed = _printed_by(db, session)
    for seat in session.assessors:
        if seat.person.code in printed and seat.person.code in late:
            seat.knew_key = True


def _seal_anew(
    db: Session,
    session: PanelSession,
    absent: Sequence[str],
    late: Sequence[str],
    *,
    now: datetime,
    by: str,
) -> str:
    """Fix the trays as they are now, and return the newest link of the log."""
    before = session.key_hash
    db.flush()
    session.key_hash = key_hash(db, session.id)
    details = {
        "session": session.name,
        "absent": list(absent),
        "late": list(late),
        "key_hash_before": before,
        "key_hash": session.key_hash,
    }
    kept = {"sealed": {str(session.id): {"hash": session.key_hash, "form": KEY_FORM}}}
    entry = append_entry(db, at=now, by=by, action="seats changed", details=details, kept=kept)
    return entry.chain_hex


def _notes(
    db: Session, session: PanelSession, late: Sequence[str], *, poured: bool
) -> Iterator[str]:
    if poured:
        yield (
            "The sheets that were printed bear the hash from before, and trays as they were: print "
            "them again."
        )
    for seat in session.assessors:
        if seat.person.code in late and seat.knew_key:
            yield (
                f"{seat.person.code} printed a sheet that tells the key: what {seat.person.code} "
                "scores is kept and left out of every result."
            )
        if seat.person.code in late and seat.person.pin_hash is None:
            yield f"{seat.person.code} has no PIN yet, and cannot sign in at a booth before."
