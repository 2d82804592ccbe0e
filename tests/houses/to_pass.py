"""A parcel of casks to pass, known-sound spirit, spikes on it; and noses that answer by a rule."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import Fault, SessionKind
from panel.records.planting import SpikeMade, keep_sound, keep_spike
from panel.session.passing_asked import PassingAsked
from panel.session.plan import plan_session
from panel.session.plan_parts import SessionPlan
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reveal_session
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow, behind_serving
from panel.store.passing import Passing
from panel.store.people import Person
from panel.store.sessions import FaultMark, PanelSession, Serving
from tests.houses.at_the_booth import open_evening
from tests.houses.kept import kept
from tests.houses.to_plan import HELD_ON, furnish

PARCEL = "low 2012"
SPIKES = (Fault.SULPHUR, Fault.MOULD_OR_CORK, Fault.SOLVENT)
SOUND = "D1"
Answer = Callable[[str, str], Iterable[Fault]]
"""By assessor and draw: the faults that are named; none passes it."""

PLAN = SessionPlan(
    name="morning",
    held_on=HELD_ON,
    assessors=("A1",),
    draws=(),
    descriptors=(),
    kind=SessionKind.PASSING,
    passing=PassingAsked(parcel=PARCEL),
)


@kept
def build_to_pass(store: Store, now: datetime, *, casks: int = 24, smoky: int = 0) -> None:
    """Write the house: D1 is known to be sound and has spikes, the others are the parcel."""
    with store.write() as db:
        furnish(db, casks=casks, smoky=smoky)
        for draw in db.scalars(select(Draw).where(Draw.filling_id.is_not(None))):
            assert draw.filling is not None
            draw.filling.parcel = PARCEL
            draw.filling.warehouse, draw.filling.row = "Long shed", draw.label.removeprefix("D")
    with store.write() as db:
        keep_sound(db, SOUND, now=now, by="L1")
        for fault in SPIKES:
            keep_spike(db, spike(fault), now=now, by="L1")


def spike(fault: Fault, **changes: object) -> SpikeMade:
    made = SpikeMade(
        label=f"spike {fault.value}",
        fault=fault,
        base=SOUND,
        stock="2 mg a litre",
        safety_sheet="folder 4",
        made_by="L1",
        abv_percent=58.0,
        volume_ml=900.0,
    )
    return replace(made, **changes)  # type: ignore[arg-type]


@kept
def to_open(store: Store, /, now: datetime, **changes: object) -> None:
    """Plan, seal and open a session."""
    plan = replace(PLAN, **changes)  # type: ignore[arg-type]
    with store.write() as db:
        plan_session(db, plan, now=now, by="L1")
    for step in (seal_session, open_session):
        with store.write() as db:
            step(db, plan.name, now=now, by="L1")


def behind(db: Session, session: str) -> list[tuple[Serving, str, str]]:
    """Return every glass of a session with its nose and the draw in it, in order of nosing."""
    asked = (
        select(Serving, Person.code, Draw.label)
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .join(Draw, Draw.id == KeyRow.draw_id)
        .where(Serving.session.has(name=session))
        .order_by(Person.code, Serving.flight, Serving.position)
    )
    return [(serving, code, label) for serving, code, label in db.execute(asked)]


def answer(store: Store, session: str, now: datetime, rule: Answer) -> None:
    """Let every glass be passed, or held with what the rule names."""
    with store.write() as db:
        for serving, code, label in behind(db, session):
            serving.taken_at = serving.finished_at = now
            for fault in rule(code, label):
                db.add(FaultMark(serving_id=serving.id, fault=fault, marked_at=now))


def to_reveal(store: Store, session: str, now: datetime) -> tuple[str, ...]:
    """Close and reveal it; return what the reveal says."""
    with store.write() as db:
        close_session(db, session, now=now, by="L1")
    with store.write() as db:
        return reveal_session(db, session, now=now, by="L1").notes


def good_nose(_code: str, label: str) -> tuple[Fault, ...]:
    """Find what is planted, and nothing else."""
    return tuple(fault for fault in SPIKES if label.endswith(f"spike {fault.value}"))


TOLD = "low; oak; filled 2012. Planted faults may be among the glasses: sulphur; nose only."


def open_to_pass(store: Store) -> None:
    """Open a passing session at the booths: five glasses, two of them in the second block."""
    open_evening(store, words=(), pause_s=0, glasses_in_flight=2)
    with store.write() as db:
        session = db.scalars(select(PanelSession)).one()
        session.kind = SessionKind.PASSING
        for serving in session.servings:
            serving.warm_up = False
        db.add(Passing(session_id=session.id, told=TOLD, air_s=600))


def verdicts(store: Store, nose: str) -> dict[str, set[Fault] | None]:
    """Return by code what was named on each glass; None where it is not down yet."""
    with store.read() as db:
        marks = db.execute(select(FaultMark.serving_id, FaultMark.fault)).all()
        return {
            serving.code: {fault for at, fault in marks if at == serving.id}
            if serving.finished_at
            else None
            for serving in db.scalars(select(Serving))
            if serving.person.code == nose
        }
