"""Opening a pack at the other site, in a database of its own, where its seats are nosed.

The key stays at home. Each code stands here for the bottle that bears it, and for nothing else: so
sheets, booths and stops work as at home, and whoever has this database knows what stands on the
bottles. People choose a PIN here; none came.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from panel.errors import SessionError
from panel.figures import in_digits
from panel.kinds import DrawKind, GlassKind, Role, SessionStatus
from panel.records.people import code_fault
from panel.records.settings import change_setting
from panel.session.elsewhere.packing import CAPS, house_of, pack_row
from panel.store.draws import Draw
from panel.store.house import number_setting, rule_for, today_at_site
from panel.store.key import KeyRow
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.log import append_entry
from panel.store.passing import Passing
from panel.store.people import Person, PersonRole
from panel.store.sessions import PanelSession, Serving, SessionAssessor, SessionDescriptor
from panel.store.site_packs import Moved, PackAmount, PackSeat, SitePack

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.session.elsewhere.sealed_file import Pack
    from panel.session.elsewhere.values import CarriedLine, PackBody


HALF_A_ML = 0.5


@dataclass(frozen=True)
class Opened:
    """A session that came in a pack. `without_pin`: who has to choose one here, the lead first."""

    session: str
    site: str
    water: str
    assessors: tuple[str, ...]
    glasses: int
    nose_by: date
    sent_ml: float
    received_ml: float
    pack_hash: str
    without_pin: tuple[str, ...]

    json_keys = (
        *("session", "site", "water", "assessors", "glasses", "nose_by", "sent_ml"),
        *("received_ml", "pack_hash", "without_pin"),
    )


def is_fresh(db: Session) -> bool:
    """Say whether nobody and nothing is in a database yet."""
    return not (db.scalar(select(func.count(Person.id))) or 0) and not (
        db.scalar(select(func.count(PanelSession.id))) or 0
    )


def open_pack(
    db: Session,
    pack: Pack,
    *,
    received_ml: float,
    now: datetime,
    by: str | None,
    lead: str | None = None,
) -> Opened:
    """Write the session of a pack into this site's database, sealed; `lead` founds a new one.

    Raises
    ------
    SessionError
        The pack was opened here before, the database is a house's own, a line or a session of the
        name is there already otherwise, or what was received cannot be: all reasons at once.
    """
    body = pack.body
    today = today_at_site(db, now)
    acts = by or lead
    _refuse([*_faults(db, body, received_ml, lead, today)])
    if lead is not None:
        _person(db, lead, Role.LEAD)
    _keep_stricter_caps(db, body, now, acts)
    session = _session(db, body, now)
    row = _row(pack, session, received_ml, today, now, acts or "")
    db.add(row)
    db.flush()
    for seat in body.seats:
        person = _person(db, seat.assessor, Role.ASSESSOR)
        row.seats.append(PackSeat(person_id=person.id, seat=seat.seat))
        session.assessors.append(SessionAssessor(person=person, seat=seat.seat))
        for glass in seat.glasses:
            place = glass.model_dump(include={"flight", "position", "code", "pouring", "warm_up"})
            db.add(Serving(session=session, person_id=person.id, **place))
    _bottles(db, body, session)
    db.flush()
    details = {"session": session.name, "pack": pack.file_hash, "seats": len(body.seats)}
    append_entry(db, at=now, by=acts or "-", action="pack opened", details=details)
    return Opened(
        session=session.name,
        site=body.site,
        water=body.water,
        assessors=tuple(seat.assessor for seat in body.seats),
        glasses=sum(len(seat.glasses) for seat in body.seats),
        nose_by=body.nose_by,
        sent_ml=body.sent_ml,
        received_ml=received_ml,
        pack_hash=pack.file_hash,
        without_pin=_without_pin(db, body),
    )


def check_new(body: PackBody, received_ml: float, lead: str | None, now: datetime) -> None:
    """Look before a new database is made for a pack whether it could be opened there.

    Raises
    ------
    SessionError
        It could not: all reasons at once.
    """
    _refuse([*_general_faults(body, received_ml, now.date()), *_lead_faults(lead, fresh=True)])


def _refuse(faults: list[str]) -> None:
    if faults:
        raise SessionError("\n".join(["The pack was not opened.", *(f"  - {f}" for f in faults)]))


def _faults(
    db: Session,
    body: PackBody,
    received_ml: float,
    lead: str | None,
    today: date,
) -> Iterator[str]:
    yield from _place_faults(db, body)
    yield from _lead_faults(lead, fresh=is_fresh(db))
    yield from _general_faults(body, received_ml, today)
    if db.scalar(select(PanelSession.id).where(PanelSession.name == body.session.name)):
        yield f"There is a session {body.session.name!r} here already."
    yield from _other_lines(db, body)


def _lead_faults(lead: str | None, *, fresh: bool) -> Iterator[str]:
    if fresh and lead is None:
        yield "Nobody leads here yet: say who does (--lead CODE)."
    if lead is not None and (wrong := code_fault(lead)):
        yield wrong
    if lead is not None and not fresh:
        yield "Somebody leads here already: leave --lead out."


def _general_faults(body: PackBody, received_ml: float, today: date) -> Iterator[str]:
    if not 0 <= received_ml < float("inf"):
        yield "What was received is a number of mL, none at the least."
    elif wrong := more_than_sent(received_ml, body.sent_ml):
        yield wrong
    if today > body.nose_by:
        yield f"It was to be nosed by {body.nose_by}: ask home for new samples."
    yield from _people_faults(body)
    if set(body.caps) - set(CAPS):
        yield "It names a cap on ethanol that this Oakpanel does not know."


def more_than_sent(received_ml: float, sent_ml: float) -> str | None:
    """Return what is wrong where more came than was sent; sheets tell it to the whole mL."""
    if received_ml <= sent_ml + HALF_A_ML:
        return None
    return (
        f"{in_digits(received_ml, 'g')} mL received, and {in_digits(sent_ml, '.0f')} mL were sent: "
        "more cannot arrive. Measure again, or ask home what was sent."
    )


def _place_faults(db: Session, body: PackBody) -> Iterator[str]:
    packs = list(db.scalars(select(SitePack)))
    if any(row.pack_hex == body.pack_hex and row.came for row in packs):
        yield "It was opened here before: a pack is opened once."
    if house_of(db) == body.house_hex:
        yield "This is the house that sent it: open it in a database of its own (--db)."
    elif not is_fresh(db) and not _of_that_house(packs, body.house_hex):
        yield "This database is a house's own: open the pack in a database of its own (--db)."


def _of_that_house(packs: list[SitePack], house_hex: str) -> bool:
    return bool(packs) and all(row.came and row.house_hex == house_hex for row in packs)


def _people_faults(body: PackBody) -> Iterator[str]:
    codes = [seat.assessor for seat in body.seats]
    yield from (wrong for code in codes if (wrong := code_fault(code)))
    if len({seat.seat for seat in body.seats}) < len(body.seats) or len(set(codes)) < len(codes):
        yield "A seat or a person stands twice in it."


def _other_lines(db: Session, body: PackBody) -> Iterator[str]:
    for line in body.lines:
        here = _version(db, line)
        if here is not None and _described(here) != _carried(line):
            yield f"The line {line.name!r} means something else here: take a new database (--db)."


def _version(db: Session, line: CarriedLine) -> DescriptorVersion | None:
    asked = select(DescriptorVersion).join(Descriptor)
    return db.scalar(
        asked.where(Descriptor.name == line.name, DescriptorVersion.version == line.version)
    )


def _described(version: DescriptorVersion) -> tuple[object, ...]:
    ends = (version.low_words, version.high_words)
    return version.meaning, version.stage, *ends, version.ought_to_be_absent


def _carried(line: CarriedLine) -> tuple[object, ...]:
    return line.meaning, line.stage, line.low_words, line.high_words, line.ought_to_be_absent


def _person(db: Session, code: str, role: Role) -> Person:
    person = db.scalar(select(Person).where(Person.code == code))
    if person is None:
        person = Person(code=code)
        db.add(person)
    if role not in {held.role for held in person.roles}:
        person.roles.append(PersonRole(role=role))
    db.flush()
    return person


def _keep_stricter_caps(db: Session, body: PackBody, now: datetime, by: str | None) -> None:
    for name, value in sorted(body.caps.items()):
        lowest = max(rule_for(name).low, value)
        if lowest < number_setting(db, name):
            change_setting(db, name, f"{lowest:g}", now=now, by=by)


def _session(db: Session, body: PackBody, now: datetime) -> PanelSession:
    facts = body.session.model_dump(exclude={"held_on"})
    session = PanelSession(
        **facts,
        held_on=body.session.held_on,
        site=body.site,
        status=SessionStatus.SEALED,
        sealed_at=now,
    )
    db.add(session)
    for line in body.lines:
        version = _version(db, line) or _new_version(db, line)
        session.descriptors.append(
            SessionDescriptor(
                descriptor_version=version,
                place=line.place,
                scale_low=line.low,
                scale_high=line.high,
            )
        )
    db.flush()
    if body.told is not None:
        db.add(Passing(session_id=session.id, told=body.told.told, air_s=body.told.air_s))
    return session


def _new_version(db: Session, line: CarriedLine) -> DescriptorVersion:
    named = db.scalar(select(Descriptor).where(Descriptor.name == line.name))
    version = DescriptorVersion(
        descriptor=named or Descriptor(name=line.name),
        version=line.version,
        meaning=line.meaning,
        stage=line.stage,
        low_words=line.low_words,
        high_words=line.high_words,
        ought_to_be_absent=line.ought_to_be_absent,
    )
    db.add(version)
    db.flush()
    return version


def _row(
    pack: Pack,
    session: PanelSession,
    received_ml: float,
    today: date,
    now: datetime,
    by: str,
) -> SitePack:
    row = pack_row(pack.body, pack.file_hash, session, now=now, by=by)
    row.came = True
    row.amounts.append(
        PackAmount(
            moved=Moved.RECEIVED,
            millilitres=received_ml,
            abv=session.nosing_abv,
            moved_on=today,
            by_code=by,
        )
    )
    return row


def _bottles(db: Session, body: PackBody, session: PanelSession) -> None:
    """Let each code stand for its bottle: the same on every tray, or on one person's alone."""
    apart = body.session.codes_per_assessor
    codes = {
        (seat.assessor if apart else "", glass.code): glass.warm_up
        for seat in body.seats
        for glass in seat.glasses
    }
    for (tray, code), warm_up in sorted(codes.items()):
        bottle = Draw(
            label=" ".join(filter(None, (session.name, "bottle", code, tray))),
            kind=DrawKind.MARKET,
            abv=session.nosing_abv,
            note=f"came in a pack to {body.site}",
        )
        kind = GlassKind.WARM_UP if warm_up else GlassKind.TEST
        row = KeyRow(tray=tray, code=code, draw=bottle, kind=kind, replicate=1)
        row.session_id = session.id
        db.add(row)


def _without_pin(db: Session, body: PackBody) -> tuple[str, ...]:
    known = {seat.assessor for seat in body.seats}
    people = db.scalars(select(Person).where(Person.pin_hash.is_(None)).order_by(Person.id))
    return tuple(person.code for person in people if person.code in known)
