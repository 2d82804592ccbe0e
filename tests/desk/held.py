"""Sessions at each stage for the desk's tests, made by the functions that the desk calls."""

from __future__ import annotations

from datetime import UTC, date, datetime

from panel.session.plan import SessionPlan, plan_session
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reveal_session
from panel.store.engine import Store
from tests.desk.house import ASSESSORS, DESCRIPTORS

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
