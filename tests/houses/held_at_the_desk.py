"""Sessions at each stage for the desk's tests, made by the functions that the desk calls."""

from __future__ import annotations

from datetime import UTC, date, datetime
from random import Random

from sqlalchemy import select

from panel.kinds import CallReason, Fault, ServingStatus
from panel.session.plan import SessionPlan, plan_session
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reveal_session
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    PanelSession,
    Score,
    Serving,
)
from tests.houses.at_the_desk import ASSESSORS, DESCRIPTORS

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
NAME = "Thursday 12"
STAGES = ("draft", "sealed", "open", "closed", "revealed")


def hold(store: Store, stage: str, name: str = NAME) -> None:
    """Bring a session to *stage*."""
    plan = SessionPlan(
        name=name,
        assessors=ASSESSORS,
        draws=("D1", "D2", "D3", "D4"),
        descriptors=DESCRIPTORS,
        held_on=date(2026, 3, 14),
        reference="House reference",
        warm_up="Warm-up",
        seed=7,
    )
    steps = (seal_session, open_session, close_session, reveal_session)
    with store.write() as db:
        plan_session(db, plan, now=NOW, by="LD")
    for step in steps[: STAGES.index(stage)]:
        with store.write() as db:
            step(db, name, now=NOW, by="LD")


def score_all(store: Store, name: str = NAME, *, seed: int = 5) -> None:
    """Give every glass scores that tell the draws apart, with a little noise."""
    noise = Random(seed)
    with store.write() as db:
        session = db.scalars(select(PanelSession).where(PanelSession.name == name)).one()
        draw_of = {
            row.code: row.draw_id
            for row in db.scalars(select(KeyRow).where(KeyRow.session_id == session.id))
        }
        order: dict[int, int] = {}
        for glass in db.scalars(select(Serving).where(Serving.session_id == session.id)):
            order[glass.person_id] = order.get(glass.person_id, 0) + 1
            glass.taken_order, glass.taken_at = order[glass.person_id], NOW
            glass.finished_at = NOW
            for place, line in enumerate(session.descriptors):
                level = 12.0 * draw_of[glass.code] + 3 * place + noise.gauss(0, 2)
                value = max(0.0, min(100.0, level))
                version = line.descriptor_version_id
                db.add(
                    Score(
                        serving_id=glass.id,
                        descriptor_version_id=version,
                        value=value,
                        given_at=NOW,
                    )
                )


def half_way(store: Store, name: str = NAME) -> None:
    """Leave an open session with glasses of every state, a call and a fault mark."""
    with store.write() as db:
        session = db.scalars(select(PanelSession).where(PanelSession.name == name)).one()
        trays: dict[str, list[Serving]] = {}
        for glass in db.scalars(
            select(Serving).where(Serving.session_id == session.id).order_by(Serving.position)
        ):
            trays.setdefault(glass.person.code, []).append(glass)
        for glass in trays["AB"]:
            glass.taken_order, glass.taken_at, glass.finished_at = glass.position or 0, NOW, NOW
        in_hand = trays["CD"][1]
        in_hand.taken_order, in_hand.taken_at = 1, NOW
        for line in session.descriptors[:2]:
            version = line.descriptor_version_id
            in_hand.scores.append(Score(descriptor_version_id=version, value=40.0, given_at=NOW))
        trays["EF"][2].status = ServingStatus.SWAP_SUSPECTED
        trays["GH"][3].status = ServingStatus.VOID
        marked = FaultMark(serving_id=in_hand.id, fault=Fault.MOULD_OR_CORK, marked_at=NOW)
        call = LeadCall(
            session_id=session.id,
            person_id=in_hand.person_id,
            serving_id=in_hand.id,
            reason=CallReason.DOUBTFUL_GLASS,
            called_at=NOW,
        )
        db.add_all([marked, call])
        session.assessors[0].finished_at = NOW
        session.assessors[3].not_at_best = True
