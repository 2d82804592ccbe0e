"""Planning: tried without a trace, then kept as it was tried."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panel.desk.acting import leading
from panel.session.plan import SecretBits, draw_bits, plan_session

if TYPE_CHECKING:
    from datetime import datetime

    from panel.session.plan_parts import SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.engine import Store


@dataclass(frozen=True)
class TriedPlan:
    """A plan, the secret bits it was tried with, and what a person was told it would take."""

    plan: SessionPlan
    bits: SecretBits
    lines: tuple[str, ...]


def try_plan(store: Store, plan: SessionPlan, *, now: datetime, by: str | None) -> TriedPlan:
    """Return what the plan would take; nothing stays written."""
    bits = draw_bits()
    with leading(store, by) as acting:
        summary = plan_session(acting.db, plan, now=now, by=acting.by, bits=bits)
        acting.db.rollback()
    return TriedPlan(plan, bits, _told(summary, plan))


def keep_plan(store: Store, tried: TriedPlan, *, now: datetime, by: str | None) -> TriedPlan | None:
    """Write the draft as it was tried; return it anew where the records have changed meanwhile.

    Then nothing was written: what is kept is what somebody has agreed to.
    """
    with leading(store, by) as acting:
        summary = plan_session(acting.db, tried.plan, now=now, by=acting.by, bits=tried.bits)
        told = _told(summary, tried.plan)
        if told == tried.lines:
            return None
        acting.db.rollback()
    return replace(tried, lines=told)


def _told(summary: PlanSummary, plan: SessionPlan) -> tuple[str, ...]:
    return tuple(summary.as_told_for(plan).lines())
