"""A house with a traced session: planned, opened, answered as a booth answers, revealed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from sqlalchemy import select, update

from panel.kinds import Manner, SessionKind
from panel.session.plan import SessionPlan
from panel.store import booth_queries as booth
from panel.store.answers import Answer
from panel.store.booth_tray import second_of
from panel.store.engine import Store
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving
from tests.conftest import FIXED_NOW
from tests.houses.at_the_booth import START, WORDS, Wall, open_evening
from tests.houses.in_sets import draws_by_glass
from tests.houses.to_plan import CODES, HELD_ON

NAME, NOTE = "minute", "wet slate"
SECONDS = SessionKind.TRACE.facts.prompts_s
BURST: tuple[int, ...] = (1, 8, 7, 4, 2, 1, 0)
LINGER: tuple[int, ...] = (0, 2, 4, 6, 6, 6, 5)


def trace_plan(name: str = NAME, **changes: object) -> SessionPlan:
    """Return a plan in which everybody traces two draws."""
    usual: dict[str, object] = {
        "assessors": CODES,
        "draws": ("D1", "D2"),
        "descriptors": (NOTE,),
        "held_on": HELD_ON,
        "kind": SessionKind.TRACE,
    }
    return SessionPlan(name=name, **{**usual, **changes})  # type: ignore[arg-type]


def trace_all(
    store: Store,
    plan: SessionPlan,
    said: Callable[[str, int], Mapping[int, int]],
    now: datetime = FIXED_NOW,
) -> None:
    """Trace every glass of everybody: `said` gives the keys by prompt, from draw and person."""
    behind = draws_by_glass(store)
    for number, code in enumerate(plan.assessors):
        with store.read() as db:
            rows = db.scalars(select(Serving).order_by(Serving.flight, Serving.position)).all()
            mine = [(glass.id, glass.code) for glass in rows if glass.person.code == code]
        with store.write() as db:
            seat = booth.take_seat(db, plan.name, code, now=now)
        for glass, on_it in mine:
            values: dict[int, float | None] = {}
            for prompt, key in said(behind[glass], number).items():
                values |= {prompt: key, second_of(prompt): float(SECONDS[prompt - 1])}
            with store.write() as db:
                booth.save_glass(db, seat, on_it, values, taken_at=now, finished_at=now)


def bursts(strong: str) -> Callable[[str, int], Mapping[int, int]]:
    """Let a note burst in one draw and linger in the others, a little otherwise for each nose."""

    def said(draw: str, number: int) -> Mapping[int, int]:
        course = BURST if draw == strong else LINGER
        return {at: max(0, key - (number + at) % 2) for at, key in enumerate(course, start=1)}

    return said


def kept_trace(store: Store, who: str, code: str) -> dict[int, float]:
    """Return what is on disk of a glass, by question."""
    asked = (
        select(Answer.question, Answer.value)
        .join(Serving, Serving.id == Answer.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .where(Person.code == who, Serving.code == code)
    )
    with store.read() as db:
        return {question: value for question, value in db.execute(asked)}


def open_traces(store: Store, *, pause_s: int = 60) -> None:
    """Open an evening at a booth whose two glasses are traced: trays without a key."""
    open_evening(store, words=WORDS[:1], codes=("538", "417"), pause_s=pause_s, may_go_back=False)
    with store.write() as db:
        db.execute(update(PanelSession).values(kind=SessionKind.TRACE, manner=Manner.TASTE))
        db.execute(update(Serving).values(warm_up=False))


def stopwatch_of(wall: Wall) -> Callable[[], float]:
    """Return seconds that go on with the wall's clock of a test."""

    def seconds() -> float:
        return (wall.now - START).total_seconds()

    return seconds
