"""A small house and its people, from which the tests here plan sessions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import DrawKind, GaugeMethod, Role, Stage
from panel.session.plan import SessionPlan
from panel.store.casks import (
    Cask,
    Filling,
    Make,
    Regauge,
)
from panel.store.draws import Draw
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person, PersonRole
from panel.store.sessions import FaultMark, Score, Serving

HELD_ON = date(2026, 3, 20)
CODES = ("A1", "A2", "A3", "A4", "A5", "A6")
WORDS = ("barley sugar", "wet slate", "stewed apple", "bonfire")
PPM = {"low": 1.0, "smoky": 40.0}


def furnish(db: Session, *, casks: int = 8, smoky: int = 0) -> None:
    """Put a lead, a pourer, six assessors, casks with draws D1.., R0 and W0, and words in."""
    db.add_all(person("L1", Role.LEAD) for _ in range(1))
    db.add(person("P1", Role.POURER))
    db.add_all(person(code, Role.ASSESSOR) for code in CODES)
    for name, ppm in PPM.items():
        db.add(Make(name=name, site="Sallow Weir", cereal="barley", phenol_ppm=ppm))
    db.flush()
    for number in range(1, casks + 1):
        add_cask(db, number, "smoky" if number > casks - smoky else "low")
    db.add(Draw(label="R0", kind=DrawKind.REFERENCE, abv=46.0, volume_ml=1000.0))
    db.add(Draw(label="W0", kind=DrawKind.REFERENCE, abv=40.0))
    for word in WORDS:
        add_descriptor(db, word, retired_on=None)
    db.flush()


def person(code: str, role: Role) -> Person:
    return Person(code=code, roles=[PersonRole(role=role)])


def add_descriptor(
    db: Session, name: str, *, retired_on: date | None = None, stage: Stage = Stage.NOSE
) -> None:
    version = DescriptorVersion(
        version=1, stage=stage, low_words="none", high_words="very strong", retired_on=retired_on
    )
    db.add(Descriptor(name=name, versions=[version]))
    db.flush()


def add_cask(db: Session, number: int, make: str = "low") -> Draw:
    """Add a cask with one filling, one regauge and one draw that was measured."""
    filling = Filling(
        label=f"{4000 + number}/1",
        cask=Cask(number=str(4000 + number), wood="oak", size_l=250.0),
        make=db.scalars(select(Make).where(Make.name == make)).one(),
        filled_on=date(2012, 5, 1),
        fill_number=1,
        fill_abv=63.5,
        fill_bulk_l=245.0,
        regauges=[
            Regauge(gauged_on=date(2024, 5, 1), bulk_l=200.0, abv=57.0, method=GaugeMethod.WEIGHED)
        ],
    )
    draw = Draw(
        label=f"D{number}",
        kind=DrawKind.CASK,
        filling=filling,
        abv=58.0,
        drawn_on=date(2026, 3, 1),
        volume_ml=400.0,
    )
    db.add(draw)
    db.flush()
    return draw


BASE = SessionPlan(
    name="spring",
    held_on=HELD_ON,
    assessors=CODES,
    draws=("D1", "D2", "D3", "D4", "D5", "D6"),
    descriptors=WORDS,
    reference="R0",
    warm_up="W0",
)


def plan(**changes: object) -> SessionPlan:
    return replace(BASE, **changes)  # type: ignore[arg-type]


def score_all(db: Session, now: datetime, *, skip: Sequence[str] = ()) -> None:
    """Give every glass of everybody but *skip* a score on every line."""
    versions = db.scalars(select(DescriptorVersion)).all()
    for serving in db.scalars(select(Serving)):
        if serving.person.code in skip:
            continue
        serving.taken_at = serving.finished_at = now
        for version in versions:
            db.add(
                Score(
                    serving_id=serving.id,
                    descriptor_version_id=version.id,
                    value=float(serving.position or 0),
                    given_at=now,
                )
            )
    db.flush()


def mark_fault(db: Session, serving: Serving, now: datetime, mark: FaultMark) -> None:
    mark.serving_id, mark.marked_at = serving.id, now
    db.add(mark)
    db.flush()
