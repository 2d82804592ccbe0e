"""A house with one evening: a lead who assesses, an assessor, two casks, two glasses each."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy.orm import Session

from panel.kinds import CallReason, DrawKind, Fault, GlassKind, Role, SessionStatus, Stage
from panel.store.casks import Cask, Filling, Make
from panel.store.draws import Draw
from panel.store.key import KeyRow
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.log import append_entry
from panel.store.people import Person, PersonName, PersonRole
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

CODES = ("351", "804")


def add_house(db: Session, now: datetime, status: SessionStatus = SessionStatus.REVEALED) -> None:
    """Add all of it; the evening stands at *status*, and each tray has codes of its own."""
    people = [_person("M1", "Maren Oakes", Role.LEAD, Role.ASSESSOR), _person("A2", "Ilse Weir")]
    draws = [_draw(number) for number in ("C100", "C200")]
    line = DescriptorVersion(
        version=1, stage=Stage.NOSE, low_words="none", high_words="strong", descriptor=Descriptor()
    )
    line.descriptor.name = "bonfire"
    evening = PanelSession(
        name="EV1", held_on=date(2026, 3, 14), status=status, key_hash="00", codes_per_assessor=True
    )
    db.add_all([*people, *draws, line, evening])
    db.flush()
    evening.descriptors.append(SessionDescriptor(place=1, descriptor_version=line))
    for seat, person in enumerate(people, start=1):
        evening.assessors.append(SessionAssessor(person=person, seat=seat, not_at_best=True))
        for code, draw in zip(CODES, draws, strict=True):
            _glass(db, evening, person, code, draw, line, now)
    call = LeadCall(session_id=evening.id, person=people[1], reason=CallReason.WATER, called_at=now)
    db.add(call)
    db.flush()
    for code in ("M1", "A2"):
        details = {"session": "EV1", "trays": ["M1", "A2"] if code == "M1" else []}
        append_entry(db, at=now, by=code, action="glass finished", details=details)


def _person(code: str, name: str, *roles: Role) -> Person:
    person = Person(code=code, joined_on=date(2020, 1, 1), name=PersonName(full_name=name))
    person.roles = [PersonRole(role=role) for role in roles or (Role.ASSESSOR,)]
    return person


def _draw(number: str) -> Draw:
    make = Make(name=f"make {number}", site="weir", cereal="barley", phenol_ppm=0.0)
    filling = Filling(
        label=f"{number}/1",
        cask=Cask(number=number, wood="oak", size_l=200.0),
        make=make,
        filled_on=date(2015, 5, 1),
        fill_number=1,
        fill_abv=63.5,
        fill_bulk_l=195.0,
    )
    return Draw(label=f"D-{number}", kind=DrawKind.CASK, filling=filling)


def _glass(
    db: Session,
    evening: PanelSession,
    person: Person,
    code: str,
    draw: Draw,
    line: DescriptorVersion,
    now: datetime,
) -> None:
    serving = Serving(session=evening, person=person, code=code, position=CODES.index(code) + 1)
    key = KeyRow(
        session_id=evening.id,
        tray=person.code,
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
            ScoreChange(**of_glass, value=40.0, changed_at=now, by_code=person.code),
            FaultMark(serving_id=serving.id, fault=Fault.RUBBER, marked_at=now),
            ServingNote(
                serving_id=serving.id, text=f"like the shed, {person.code}", written_at=now
            ),
        ]
    )
