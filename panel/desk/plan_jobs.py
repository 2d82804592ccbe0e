"""Planning: tried without a trace, then kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.desk.acting import leading
from panel.session.plan import plan_session

if TYPE_CHECKING:
    from datetime import datetime

    from panel.session.plan_parts import SessionPlan
    from panel.store.engine import Store


def try_plan(store: Store, plan: SessionPlan, *, now: datetime, by: str | None) -> list[str]:
    """Return what the plan would take, in lines; nothing stays written."""
    with leading(store, by) as acting:
        lines = plan_session(acting.db, plan, now=now, by=acting.by).lines()
        acting.db.rollback()
    return lines


def keep_plan(store: Store, plan: SessionPlan, *, now: datetime, by: str | None) -> None:
    """Write the draft."""
    with leading(store, by) as acting:
        plan_session(acting.db, plan, now=now, by=acting.by)
