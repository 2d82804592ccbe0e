"""A house with a session in which smoke is scored by stages: planned, scored, revealed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from sqlalchemy import select

from panel.kinds import Manner, SessionKind, Stage
from panel.session.plan import SessionPlan
from panel.store import booth_queries as booth
from panel.store.engine import Store
from panel.store.sessions import Serving
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import draws_by_glass
from tests.houses.to_plan import CODES, HELD_ON

NAME, NOTE, OTHER = "four-stages", "bonfire", "wet slate"
BURST: Mapping[Stage, int] = {
    Stage.NOSE: 40,
    Stage.ARRIVAL: 70,
    Stage.DEVELOPMENT: 40,
    Stage.FINISH: 10,
}
LINGER: Mapping[Stage, int] = {
    Stage.NOSE: 35,
    Stage.ARRIVAL: 40,
    Stage.DEVELOPMENT: 45,
    Stage.FINISH: 44,
}
Says = Callable[[str, int], Mapping[str, int]]


def stage_plan(name: str = NAME, **changes: object) -> SessionPlan:
    """Return a plan in which everybody scores two draws, one note of two by stages."""
    usual: dict[str, object] = {
        "assessors": CODES,
        "draws": ("D1", "D2"),
        "descriptors": (OTHER,),
        "stages": (NOTE,),
        "held_on": HELD_ON,
        "kind": SessionKind.STAGES,
        "manner": Manner.TASTE,
        "duplicates": (),
        "pause_s": 120,
    }
    return SessionPlan(name=name, **{**usual, **changes})  # type: ignore[arg-type]


def bursts_in(strong: str) -> Says:
    """Let a note burst in one draw and linger in the others, a little otherwise for each nose."""

    def said(draw: str, number: int) -> Mapping[str, int]:
        course = BURST if draw == strong else LINGER
        by_stage = {f"{NOTE}, {at}": points + number for at, points in course.items()}
        return {OTHER: 20 + number, **by_stage}

    return said


def score_stages(store: Store, plan: SessionPlan, said: Says, now: datetime = FIXED_NOW) -> None:
    """Score every glass of everybody: `said` gives points by name of the line."""
    behind = draws_by_glass(store)
    for number, code in enumerate(plan.assessors):
        with store.read() as db:
            rows = db.scalars(select(Serving).order_by(Serving.flight, Serving.position)).all()
            mine = [(glass.id, glass.code) for glass in rows if glass.person.code == code]
        with store.write() as db:
            seat = booth.take_seat(db, plan.name, code, now=now)
            lines = {line.name: line.version_id for line in booth.tray(db, seat).lines}
        for glass, on_it in mine:
            given = said(behind[glass], number)
            values = {lines[name]: float(at) for name, at in given.items() if name in lines}
            with store.write() as db:
                booth.save_glass(db, seat, on_it, values, taken_at=now, finished_at=now)
