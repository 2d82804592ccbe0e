"""A house with sessions in sets: planned, opened, answered as a booth answers, revealed."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from datetime import datetime

from sqlalchemy import select

from panel.kinds import SessionKind, Task
from panel.session.in_sets import ASKS_A_NOTE
from panel.session.plan import SessionPlan, plan_session
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reveal_session
from panel.store import booth_queries as booth
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.sessions import Serving
from tests.conftest import FIXED_NOW
from tests.houses.to_plan import CODES, HELD_ON

LEAD = "L1"
NOTE = "wet slate"


def set_plan(kind: SessionKind, name: str = "pairs", **changes: object) -> SessionPlan:
    """Return a plan of two draws (three in a ranking), two sets each."""
    ranked = kind.facts.task is Task.RANK
    usual: dict[str, object] = {
        "assessors": CODES,
        "draws": ("D1", "D2", "D3") if ranked else ("D1", "D2"),
        "descriptors": (NOTE,) if kind.facts.task in {None, *ASKS_A_NOTE} else (),
        "held_on": HELD_ON,
        "replicates": 2,
        "kind": kind,
    }
    return SessionPlan(name=name, **{**usual, **changes})  # type: ignore[arg-type]


def opened(store: Store, plan: SessionPlan, now: datetime = FIXED_NOW) -> None:
    """Plan, seal and open a session."""
    with store.write() as db:
        plan_session(db, plan, now=now, by=LEAD)
    with store.write() as db:
        seal_session(db, plan.name, now=now, by=LEAD)
    with store.write() as db:
        open_session(db, plan.name, now=now, by=LEAD)


def draws_by_glass(store: Store) -> dict[int, str]:
    """Return the draw behind each glass, by the glass's number: what no booth knows."""
    with store.read() as db:
        keys = {row.code: row.draw_id for row in db.scalars(select(KeyRow))}
        labels = {draw.id: draw.label for draw in db.scalars(select(Draw))}
        return {glass.id: labels[keys[glass.code]] for glass in db.scalars(select(Serving))}


Answers = Callable[[Mapping[int, str], random.Random], Mapping[int, int]]


def answer_all(
    store: Store, plan: SessionPlan, answers: Answers, now: datetime = FIXED_NOW, seed: int = 3
) -> None:
    """Answer every set of everybody: `answers` gives the places from the draws, by glass."""
    drawn, behind = random.Random(seed), draws_by_glass(store)
    for code in plan.assessors:
        with store.read() as db:
            rows = db.scalars(select(Serving).order_by(Serving.flight, Serving.position)).all()
            mine = [glass for glass in rows if glass.person.code == code]
            sets: dict[int, list[int]] = {}
            for glass in mine:
                sets.setdefault(glass.flight, []).append(glass.id)
        with store.write() as db:
            seat = booth.take_seat(db, plan.name, code, now=now)
            for number, glasses in sets.items():
                places = answers({glass: behind[glass] for glass in glasses}, drawn)
                booth.answer_set(db, seat, number, places, now)


def picks(strong: str, share: float = 1.0) -> Answers:
    """Answer pairs: the draw named in a share of them, else the other."""

    def answer(glasses: Mapping[int, str], drawn: random.Random) -> Mapping[int, int]:
        right = drawn.random() < share
        return {glass: 1 if (draw == strong) is right else 2 for glass, draw in glasses.items()}

    return answer


def sorts(share: float = 1.0) -> Answers:
    """Sort fours: two and two in a share of them, else one of each together."""

    def answer(glasses: Mapping[int, str], drawn: random.Random) -> Mapping[int, int]:
        ordered = sorted(glasses, key=lambda glass: (glasses[glass], glass))
        if drawn.random() >= share:
            ordered = [ordered[0], ordered[2], ordered[1], ordered[3]]
        return {glass: 1 + place // 2 for place, glass in enumerate(ordered)}

    return answer


def odd_ones(share: float = 1.0) -> Answers:
    """Pick the odd one of three in a share of them, else one of the two that are the same."""

    def answer(glasses: Mapping[int, str], drawn: random.Random) -> Mapping[int, int]:
        draws = list(glasses.values())
        is_odd = {glass: draws.count(draw) == 1 for glass, draw in glasses.items()}
        right = drawn.random() < share
        picked = next(glass for glass in glasses if is_odd[glass] is right)
        return {glass: 1 if glass == picked else 2 for glass in glasses}

    return answer


def likes(share: float = 1.0) -> Answers:
    """Find what is like the first of three in a share of them, else take the other."""

    def answer(glasses: Mapping[int, str], drawn: random.Random) -> Mapping[int, int]:
        first, *others = glasses
        right = drawn.random() < share
        like = next(g for g in others if (glasses[g] == glasses[first]) is right)
        return {glass: 1 if glass in (first, like) else 2 for glass in glasses}

    return answer


def ranks(order: tuple[str, ...]) -> Answers:
    """Rank in the order named."""

    def answer(glasses: Mapping[int, str], drawn: random.Random) -> Mapping[int, int]:
        return {glass: 1 + order.index(draw) for glass, draw in glasses.items()}

    return answer


def revealed(store: Store, plan: SessionPlan, now: datetime = FIXED_NOW) -> None:
    """Close and reveal."""
    with store.write() as db:
        close_session(db, plan.name, now=now, by=LEAD)
    with store.write() as db:
        assert reveal_session(db, plan.name, now=now, by=LEAD).matches is True
