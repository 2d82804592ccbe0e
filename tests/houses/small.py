"""A house with one evening: a lead who assesses, an assessor, two casks, two glasses each."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy.orm import Session

from panel.kinds import CallReason, DrawKind, Fault, GlassKind, Role, SessionStatus
from panel.store.draws import Draw
from panel.store.key import KeyRow
from panel.store.lexicon import DescriptorVersion
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    PanelSession,
    Score,
    ScoreChange,
    Serving,
    ServingNote,
    SessionAssessor,
    SessionDescriptor,
)
from tests.houses.parts import descriptor, new_filling, new_make, person

CODES = ("351", "804")


def add_house(db: Session, now: datetime, status: SessionStatus = SessionStatus.REVEALED) -> None:
    """Add all of it; the evening stands at *status*, and each tray has codes of its own."""
    joined_on = date(2020, 1, 1)
    people = [
        person("M1", Role.LEAD, Role.ASSESSOR, joined_on=joined_on, name="Maren Oakes"),
        person("A2", joined_on=joined_on, name="Ilse Weir"),
    ]
    draws = [_draw(number) for number in ("C100", "C200")]
    line = descriptor("bonfire", high_words="strong")
    evening = PanelSession(
        name="EV1", held_on=date(2026, 3, 14), status=status, key_hash="00", codes_per_assessor=True
    )
    db.add_all([*people, *draws, line, evening])
    db.flush()
    evening.descriptors.append(SessionDescriptor(place=1, descriptor_version=line))
    for seat, each in enumerate(people, start=1):
        evening.assessors.append(SessionAssessor(person=each, seat=seat, not_at_best=True))
        for code, draw in zip(CODES, draws, strict=True):
            _glass(db, evening, each, code, draw, line, now)
    call = LeadCall(session_id=evening.id, person=people[1], reason=CallReason.WATER, called_at=now)
    db.add(call)
    db.flush()
    for code in ("M1", "A2"):
        details = {"session": "EV1", "trays": ["M1", "A2"] if code == "M1" else []}
        append_entry(db, at=now, by=code, action="glass finished", details=details)


def _draw(number: str) -> Draw:
    make = new_make(f"make {number}", 0.0, site="weir")
    filling = new_filling(number, make, wood="oak", filled_on=date(2015, 5, 1), fill_bulk_l=195.0)
    return Draw(label=f"D-{number}", kind=DrawKind.CASK, filling=filling)


def _glass(
    db: Session,
    evening: PanelSession,
    who: Person,
    code: str,
    draw: Draw,
    line: DescriptorVersion,
    now: datetime,
) -> None:
    serving = Serving(session=evening, person=who, code=code, position=CODES.index(code) + 1)
    key = KeyRow(
        session_id=evening.id,
        tray=who.code,
        code=code,
        draw=draw,
        kind=GlassKind.TEST,
        replicate=1,
    )
    db.add_all([serving, key])
    db.flush()
    of_glass = {"serving_id": serving.id, "descriptor_version_id": line.id}
    db.add_all(
        [
            Score(**of_glass, value=40.0, given_at=now),
            ScoreChange(**of_glass, value=40.0, changed_at=now, by_code=who.code),
            FaultMark(serving_id=serving.id, fault=Fault.RUBBER, marked_at=now),
            ServingNote(serving_id=serving.id, text=f"like the shed, {who.code}", written_at=now),
        ]
    )
