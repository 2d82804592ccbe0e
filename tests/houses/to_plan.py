"""A small house and its people, from which the tests here plan sessions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import DrawKind, GaugeMethod, Role, Stage
from panel.session.plan import SessionPlan, plan_session
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store.casks import (
    Make,
    Regauge,
)
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.lexicon import DescriptorVersion
from panel.store.sessions import FaultMark, Score, Serving
from tests.houses.kept import kept
from tests.houses.parts import descriptor, new_filling, new_make, person

HELD_ON = date(2026, 3, 20)
CODES = ("A1", "A2", "A3", "A4", "A5", "A6")
WORDS = ("barley sugar", "wet slate", "stewed apple", "bonfire")
PPM = {"low": 1.0, "smoky": 40.0}


@kept
def build_to_plan(store: Store, *, casks: int = 8, smoky: int = 0) -> None:
    """Write the house."""
    with store.write() as db:
        furnish(db, casks=casks, smoky=smoky)


def furnish(db: Session, *, casks: int = 8, smoky: int = 0) -> None:
    """Put a lead, a pourer, six assessors, casks with draws D1.., R0 and W0, and words in."""
    db.add_all(person("L1", Role.LEAD) for _ in range(1))
    db.add(person("P1", Role.POURER))
    db.add_all(person(code, Role.ASSESSOR) for code in CODES)
    for name, ppm in PPM.items():
        db.add(new_make(name, ppm))
    db.flush()
    for number in range(1, casks + 1):
        add_cask(db, number, "smoky" if number > casks - smoky else "low")
    db.add(Draw(label="R0", kind=DrawKind.REFERENCE, abv=46.0, volume_ml=1000.0))
    db.add(Draw(label="W0", kind=DrawKind.REFERENCE, abv=40.0))
    for word in WORDS:
        add_descriptor(db, word, retired_on=None)
    db.flush()


def add_descriptor(
    db: Session, name: str, *, retired_on: date | None = None, stage: Stage = Stage.NOSE
) -> None:
    db.add(descriptor(name, stage=stage, retired_on=retired_on))
    db.flush()


def add_cask(db: Session, number: int, make: str = "low") -> Draw:
    """Add a cask with one filling, one regauge and one draw that was measured."""
    filling = new_filling(
        str(4000 + number),
        db.scalars(select(Make).where(Make.name == make)).one(),
        wood="oak",
        size_l=250.0,
        fill_bulk_l=245.0,
    )
    filling.regauges.append(
        Regauge(gauged_on=date(2024, 5, 1), bulk_l=200.0, abv=57.0, method=GaugeMethod.WEIGHED)
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


@kept
def sealed_evening(store: Store, planned: SessionPlan, now: datetime) -> None:
    """Plan and seal a session."""
    with store.write() as db:
        plan_session(db, planned, now=now, by="L1")
        seal_session(db, planned.name, now=now, by="L1")


@kept
def open_evening(
    store: Store, planned: SessionPlan, now: datetime, *, scored: bool = False
) -> None:
    """Plan, seal and open a session; *scored*, let everybody put all their glasses down."""
    sealed_evening(store, planned, now)
    with store.write() as db:
        open_session(db, planned.name, now=now, by="L1")
        if scored:
            score_all(db, now)


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
