"""Planning: tried without a trace, then kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.kinds import Role
from panel.session.plan import plan_session
from panel.store.who import acting_person

if TYPE_CHECKING:
    from datetime import datetime

    from panel.session.plan_parts import SessionPlan
    from panel.store.engine import Store


def try_plan(store: Store, plan: SessionPlan, *, now: datetime, by: str | None) -> list[str]:
    """Return what the plan would take, in lines; nothing stays written."""
    with store.write() as db:
        code = acting_person(db, by, Role.LEAD).code
        lines = plan_session(db, plan, now=now, by=code).lines()
        db.rollback()
    return lines


def keep_plan(store: Store, plan: SessionPlan, *, now: datetime, by: str | None) -> None:
    """Write the draft."""
    with store.write() as db:
        plan_session(db, plan, now=now, by=acting_person(db, by, Role.LEAD).code)
