"""An evening in own words for the desk's tests: three words a person, on glasses that differ."""

from __future__ import annotations

from datetime import date
from random import Random

from sqlalchemy import select

from panel.kinds import SessionKind
from panel.session.plan import SessionPlan, plan_session
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reveal_session
from panel.store import booth_queries as booth
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession, Serving
from tests.houses.at_the_desk import ASSESSORS, NASTY
from tests.houses.held_at_the_desk import NOW

OWN = "in own words"
WORDS = ("soot", "pear", NASTY)


def hold_own_words(store: Store, *, reveal: bool = True) -> None:
    """Hold it from the plan to the close, or to the reveal."""
    plan = SessionPlan(
        name=OWN,
        assessors=ASSESSORS,
        draws=tuple(f"D{number}" for number in range(1, 7)),
        descriptors=(),
        kind=SessionKind.OWN_WORDS,
        held_on=date(2026, 3, 14),
        seed=11,
    )
    with store.write() as db:
        plan_session(db, plan, now=NOW, by="LD")
    for step in (seal_session, open_session):
        with store.write() as db:
            step(db, OWN, now=NOW, by="LD")
    noise = Random(3)
    for code in ASSESSORS:
        _score(store, code, noise)
    for end in (close_session, reveal_session) if reveal else (close_session,):
        with store.write() as db:
            end(db, OWN, now=NOW, by="LD")


def _score(store: Store, code: str, noise: Random) -> None:
    with store.write() as db:
        seat = booth.take_seat(db, OWN, code, now=NOW)
    lines = []
    for word in WORDS:
        with store.write() as db:
            lines.append(booth.name_word(db, seat, word, NOW))
    with store.read() as db:
        session = db.scalars(select(PanelSession).where(PanelSession.name == OWN)).one()
        draw = {
            row.code: row.draw_id
            for row in db.scalars(select(KeyRow).where(KeyRow.session_id == session.id))
        }
        glasses = list(db.scalars(select(Serving.code).filter_by(person_id=seat.person_id)))
    for glass in glasses:
        at = draw[glass]
        levels = (13.0 * at, 90.0 - 11 * at, 70.0 if at % 2 else 20.0)
        values = {
            line: min(max(level + noise.gauss(0, 3), 0.0), 100.0)
            for line, level in zip(lines, levels, strict=True)
        }
        with store.write() as db:
            booth.save_glass(db, seat, glass, values, taken_at=NOW, finished_at=NOW)
