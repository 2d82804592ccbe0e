"""Sending seats of a sealed session to another site: one file, without the key.

What goes is what a booth shows: lines, trays by code, what is told aloud. No PIN goes, nor the hash
of one: whoever sits there types a new one at that site, for four digits can be found from their
hash in an hour, and the same PIN signs releases at home.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import SessionError
from panel.figures import in_digits
from panel.kinds import SessionStatus
from panel.session.elsewhere.bottles import (
    CARRIED_ABV,
    NOSED_WITHIN_DAYS,
    Bottle,
    bottles_of,
    standing_glasses,
)
from panel.session.elsewhere.lines import sheet_of
from panel.session.elsewhere.sealed_file import pack_bytes
from panel.session.elsewhere.untouched import touched_glasses
from panel.session.elsewhere.values import (
    CarriedGlass,
    CarriedSeat,
    CarriedSession,
    CarriedTold,
    PackBody,
)
from panel.session.found import session_at
from panel.store.finding import nearest_words
from panel.store.house import RULES, number_setting, today_at_site
from panel.store.key import KeyRow
from panel.store.log import LogEntry, append_entry
from panel.store.passing import Passing
from panel.store.site_packs import Moved, PackAmount, PackSeat, SitePack, packs_of

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.draws import Draw
    from panel.store.sessions import PanelSession, SessionAssessor

CAPS = tuple(name for name, rule in RULES.items() if rule.guards)
"""Settings that guard people: the stricter of both sites holds."""
SHORTEST_NUMBER = 4
"""Digits of a cask's number below which a text that holds them speaks of something else."""


@dataclass(frozen=True)
class Packed:
    """A pack that was made: for whom, what goes with it, and the file's bytes."""

    session: str
    site: str
    assessors: tuple[str, ...]
    glasses: int
    millilitres: float
    lpa: float
    nose_by: date
    pack_hash: str
    contents: bytes
    bottles: tuple[Bottle, ...]

    json_keys = (
        *("session", "site", "assessors", "glasses", ("millilitres", "sent_ml")),
        *(("lpa", "sent_lpa"), "nose_by", "pack_hash", "bottles"),
    )


def pack_session(
    db: Session,
    name: str,
    assessors: Sequence[str],
    *,
    site: str,
    water: str,
    now: datetime,
    by: str,
) -> Packed:
    """Make the pack of some seats (all, where none is named), and note what is sent.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session that is sealed or open.
    SessionError
        A seat cannot go, the strength is too high for carriage, or a text of the session would
        tell a draw or cask: all reasons at once.
    """
    stages = (SessionStatus.SEALED, SessionStatus.OPEN)
    session = session_at(db, name, *stages, deed="packing it for another site")
    seats = _seats(session, assessors)
    body = _body(db, session, seats, site.strip(), water.strip(), now)
    _refuse(name, [*_faults(db, session, seats, assessors, body)])
    contents, found = pack_bytes(body)
    row = _row(body, found, session, seats, now=now, by=by)
    db.add(row)
    details = {"session": name, "site": body.site, "pack": found, "seats": len(seats)}
    append_entry(db, at=now, by=by, action="session packed", details=details)
    bottles = bottles_of(db, session, [seat.person_id for seat in seats])
    return Packed(
        session=name,
        site=body.site,
        assessors=tuple(seat.person.code for seat in seats),
        glasses=sum(len(seat.glasses) for seat in body.seats),
        millilitres=body.sent_ml,
        lpa=sum(bottle.lpa for bottle in bottles),
        nose_by=body.nose_by,
        pack_hash=found,
        contents=contents,
        bottles=bottles,
    )


def _seats(session: PanelSession, named: Sequence[str]) -> list[SessionAssessor]:
    return [seat for seat in session.assessors if not named or seat.person.code in named]


def _refuse(name: str, faults: list[str]) -> None:
    if faults:
        listed = "\n".join(f"  - {fault}" for fault in faults)
        raise SessionError(f"Nothing of session {name!r} was packed.\n{listed}")


def _faults(
    db: Session,
    session: PanelSession,
    seats: Sequence[SessionAssessor],
    named: Sequence[str],
    body: PackBody,
) -> Iterator[str]:
    known = {seat.person.code for seat in session.assessors}
    for code in dict.fromkeys(named):
        if code not in known:
            yield f"{code} has no seat in it.{nearest_words(code, known)}"
    yield from _seat_faults(db, session, seats)
    if not any(seat.glasses for seat in body.seats):
        yield "No glass stands on these trays."
    if session.nosing_abv > CARRIED_ABV:
        yield (
            f"It is nosed at {in_digits(session.nosing_abv, 'g')} % vol: spirit goes to another "
            f"site only reduced to {in_digits(CARRIED_ABV, 'g')} first. Plan it at that strength."
        )
    yield from _told_names(db, session, body)


def _seat_faults(
    db: Session, session: PanelSession, seats: Sequence[SessionAssessor]
) -> Iterator[str]:
    away: dict[int, str] = {}
    for pack in packs_of(db, session.id):
        if pack.came:
            yield "It came in a pack itself: more seats are sent from home."
        elif pack.recalled_at is None:
            away.update({seat.person_id: pack.site for seat in pack.seats})
    for seat in seats:
        if seat.person_id in away:
            yield f"{seat.person.code} went to {away[seat.person_id]} already."
        for code in touched_glasses(db, session, seat.person_id):
            yield f"{seat.person.code} has begun here: {code}."


def _told_names(db: Session, session: PanelSession, body: PackBody) -> Iterator[str]:
    """Name what would tell a draw or a cask of the session in a text that goes with it."""
    said = [body.session.name, body.site, body.water, *([body.told.told] if body.told else [])]
    for line in body.lines:
        said += [line.name, line.meaning or "", line.low_words, line.high_words]
    draws = {row.draw for row in db.scalars(select(KeyRow).where(KeyRow.session_id == session.id))}
    for secret in sorted({name for draw in draws for name in _names_of(draw)}):
        if secret.isdecimal() and len(secret) < SHORTEST_NUMBER:
            continue
        whole = re.compile(rf"(?<!\w){re.escape(secret)}(?!\w)", re.IGNORECASE)
        for text in said:
            if whole.search(text):
                yield f"{text!r} would tell that {secret} is among the glasses."


def _names_of(draw: Draw) -> Iterable[str]:
    fillings = [part.filling for part in draw.parts]
    for filling in (*fillings, *([draw.filling] if draw.filling else [])):
        yield from (filling.label, filling.cask.number)
    yield draw.label


def _body(
    db: Session,
    session: PanelSession,
    seats: Sequence[SessionAssessor],
    site: str,
    water: str,
    now: datetime,
) -> PackBody:
    if empty := [what for what, said in (("the site", site), ("the water", water)) if not said]:
        raise SessionError(f"Name {' and '.join(empty)}.")
    told = db.get(Passing, session.id)
    bottles = bottles_of(db, session, [seat.person_id for seat in seats])
    return PackBody(
        pack_hex=secrets.token_hex(16),
        house_hex=house_of(db),
        secret_hex=secrets.token_hex(32),
        site=site,
        water=water,
        made_at=now,
        nose_by=today_at_site(db, now) + timedelta(days=NOSED_WITHIN_DAYS),
        sent_ml=sum(bottle.millilitres for bottle in bottles),
        caps={name: number_setting(db, name) for name in CAPS},
        session=_session(session),
        lines=sheet_of(session),
        told=CarriedTold(told=told.told, air_s=told.air_s) if told else None,
        seats=tuple(_seat(db, session, seat) for seat in seats),
    )


def house_of(db: Session) -> str:
    """Return what tells one house from another: the first link of its log."""
    return db.scalars(select(LogEntry.chain_hex).order_by(LogEntry.id)).first() or "0" * 64


def _session(session: PanelSession) -> CarriedSession:
    if session.held_on is None or session.key_hash is None:
        raise SessionError(f"Session {session.name!r} has no date or no seal.")
    return CarriedSession(
        name=session.name,
        kind=session.kind,
        manner=session.manner,
        held_on=session.held_on,
        may_go_back=session.may_go_back,
        codes_per_assessor=session.codes_per_assessor,
        pause_s=session.pause_s,
        pour_ml=session.pour_ml,
        nosing_abv=session.nosing_abv,
        most_words=session.most_words,
        rehearsal=session.rehearsal,
        key_hash=session.key_hash,
    )


def _seat(db: Session, session: PanelSession, seat: SessionAssessor) -> CarriedSeat:
    glasses = tuple(
        CarriedGlass(
            flight=glass.flight,
            position=glass.position,
            code=glass.code,
            pouring=glass.pouring,
            warm_up=glass.warm_up,
        )
        for glass in standing_glasses(db, session.id, [seat.person_id])
    )
    return CarriedSeat(seat=seat.seat, assessor=seat.person.code, glasses=glasses)


def _row(
    body: PackBody,
    file_hash: str,
    session: PanelSession,
    seats: Sequence[SessionAssessor],
    *,
    now: datetime,
    by: str,
) -> SitePack:
    row = pack_row(body, file_hash, session, now=now, by=by)
    row.seats = [PackSeat(person_id=seat.person_id, seat=seat.seat) for seat in seats]
    return row


def pack_row(
    body: PackBody, file_hash: str, session: PanelSession, *, now: datetime, by: str
) -> SitePack:
    """Return the row of a pack without its seats: the same facts at home and where it came to."""
    sent = PackAmount(
        moved=Moved.SENT,
        millilitres=body.sent_ml,
        abv=body.session.nosing_abv,
        moved_on=body.nose_by - timedelta(days=NOSED_WITHIN_DAYS),
        by_code=by,
    )
    return SitePack(
        session=session,
        came=False,
        pack_hex=body.pack_hex,
        house_hex=body.house_hex,
        file_hash=file_hash,
        secret_hex=body.secret_hex,
        site=body.site,
        water=body.water,
        made_at=body.made_at,
        by_code=by,
        nose_by=body.nose_by,
        amounts=[sent],
    )
