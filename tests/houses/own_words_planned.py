"""An evening of own words, planned, sealed and scored as the booths do it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select

from panel.kinds import SessionKind
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session
from panel.store import booth_queries as booth
from panel.store.engine import Store
from panel.store.sessions import Serving
from tests.houses.to_plan import plan

NAME = "spring"
NAMED = {
    "A1": ("wet slate", "tar", "[/x]"),
    "A2": ("Tar", "a=b:c"),
    "A3": ("peel",),
}
OWN_PLAN = plan(descriptors=(), kind=SessionKind.OWN_WORDS, assessors=tuple(NAMED), seed=11)


def open_own_evening(store: Store, now: datetime) -> None:
    """Plan, seal and open it."""
    with store.write() as db:
        plan_session(db, OWN_PLAN, now=now, by="L1")
    with store.write() as db:
        seal_session(db, NAME, now=now, by="L1")
    with store.write() as db:
        open_session(db, NAME, now=now, by="L1")


def hold_own_evening(store: Store, now: datetime) -> None:
    """Open it, have everybody name words and score all glasses, and close it."""
    open_own_evening(store, now)
    for number, (code, words) in enumerate(NAMED.items(), start=1):
        with store.write() as db:
            seat = booth.take_seat(db, NAME, code, now=now)
        lines = []
        for word in words:
            with store.write() as db:
                lines.append(booth.name_word(db, seat, word, now))
        with store.read() as db:
            glasses = list(db.scalars(select(Serving.code).filter_by(person_id=seat.person_id)))
        for place, glass in enumerate(sorted(glasses)):
            values = {line: float(number * 10 + place) for line in lines}
            with store.write() as db:
                booth.save_glass(db, seat, glass, values, taken_at=now, finished_at=now)
    with store.write() as db:
        close_session(db, NAME, now=now, by="L1")
