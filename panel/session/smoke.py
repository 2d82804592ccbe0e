"""Where a plan puts its smoke: in flights of its own, last, anywhere; and what stands behind it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from sqlalchemy.orm import Session

from panel.kinds import PeatOrder
from panel.session.plan_parts import PlanParts, SessionPlan
from panel.session.sizes import (
    draw_class,
    flights_by_class,
    flights_of,
    is_unpeated,
    n_duplicates,
)


def with_peat_order(db: Session, plan: SessionPlan, parts: PlanParts) -> SessionPlan:
    """Return the plan with the place of its smoke, where the lead left it open.

    Each class has a flight of its own where there are several flights and that takes no more of
    them; else smoky glasses come last in each. What names no smoke is laid as ever.
    """
    classes = {draw_class(parts, draw) for draw in parts.draws}
    if plan.kind.facts.in_sets:
        return plan
    if len(classes) < 2:
        return replace(plan, peat=PeatOrder.RISING)
    if plan.peat is not None:
        return plan
    flights = flights_of(db, plan, parts)
    usual = plan.assigned or plan.glasses_each or plan.kind.facts.own_lines
    apart = not usual and flights > 1 and flights_by_class(db, plan, parts) <= flights
    return replace(plan, peat=PeatOrder.APART if apart else PeatOrder.RISING)


def smoke_faults(plan: SessionPlan, parts: PlanParts) -> Iterator[str]:
    """Give what speaks against an unpeated glass behind the smoke."""
    if not plan.after_peat or not parts.draws:
        return
    if len({draw_class(parts, draw) for draw in parts.draws}) < 2:
        yield "An unpeated glass after the smoke: the draws are all of one peat, so there is none."
    if plan.peat is PeatOrder.BALANCED:
        yield "An unpeated glass after the smoke: the smoke comes last then, not anywhere."
    if not n_duplicates(plan):
        yield "An unpeated glass after the smoke is a duplicate: plan at least one."
    for draw in parts.duplicates:
        if not is_unpeated(parts, draw):
            yield f"{draw.label!r} is peated, so its duplicate shows nothing after the smoke."
