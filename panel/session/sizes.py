"""How many glasses and flights a plan comes to, before a tray is laid."""

from __future__ import annotations

from collections import Counter

from sqlalchemy.orm import Session

from panel.kinds import PeatOrder
from panel.session.blueprint import glasses_a_flight
from panel.session.design import flights_needed
from panel.session.orders import peat_class
from panel.session.plan_parts import AS_DRAFTED, AUTO, PlanParts, SessionPlan
from panel.store.draws import Draw
from panel.store.house import number_setting


def n_duplicates(plan: SessionPlan) -> int:
    """Return how many draws are poured once more than the others."""
    return sum(label != AUTO or plan.replicates <= 1 for label in plan.duplicates)


def test_glasses(plan: SessionPlan) -> int:
    """Return the glasses of the largest tray without reference and warm-up."""
    return max(glasses_of_each(plan).values(), default=n_duplicates(plan))


def glasses_of_each(plan: SessionPlan) -> dict[str, int]:
    """Return the glasses of each tray without reference and warm-up; in sets all of them."""
    named = {label for label in plan.duplicates if label not in {AUTO, AS_DRAFTED}}
    left_open, a_set = n_duplicates(plan) - len(named), plan.kind.facts.glasses_a_set
    return {
        who: a_set(plan.glasses_each or len(samples)) * max(1, plan.replicates)
        + (len(named & set(samples)) if plan.assigned else len(named))
        + left_open
        for who, samples in plan.trays.items()
    }


def flight_size(db: Session, plan: SessionPlan) -> int:
    """Return how many glasses to tell apart a flight holds."""
    return glasses_a_flight(db, plan.kind, plan.manner) - (plan.reference is not None)


def flights_of(db: Session, plan: SessionPlan, parts: PlanParts, tests: int | None = None) -> int:
    """Return how many flights the largest tray takes, or one with so many glasses to tell apart.

    In flights by class of smoke as many as there may be at the most, whatever is poured twice.
    """
    least = flights_needed(
        test_glasses(plan) if tests is None else tests,
        reference=plan.reference is not None,
        glasses_a_flight=glasses_a_flight(db, plan.kind, plan.manner),
    )
    if plan.peat is not PeatOrder.APART:
        return least
    most = int(number_setting(db, plan.kind.facts.flights_setting))
    return max(least, min(most, flights_by_class(db, plan, parts)))


def flights_by_class(db: Session, plan: SessionPlan, parts: PlanParts) -> int:
    """Return how many flights all draws take at the most, each class of smoke by itself."""
    glasses = Counter(draw_class(parts, draw) for draw in parts.draws)
    size, more = flight_size(db, plan), n_duplicates(plan)
    return sum(-(-(n * max(1, plan.replicates) + more) // size) for n in glasses.values())


def tray_size(db: Session, plan: SessionPlan, parts: PlanParts, tests: int | None = None) -> int:
    """Return the glasses of the largest tray, or of one with so many to tell apart."""
    tests = test_glasses(plan) if tests is None else tests
    in_flights = plan.reference and not plan.kind.facts.in_sets
    references = flights_of(db, plan, parts, tests) if in_flights else 0
    return tests + references + (plan.warm_up is not None)


def draw_class(parts: PlanParts, draw: Draw) -> int:
    """Return the class of smoke of a draw; one whose peat is not known counts as unpeated."""
    liquid = parts.liquids.get(draw.id)
    return peat_class(liquid.phenol_ppm or 0.0) if liquid else 0


def is_unpeated(parts: PlanParts, draw: Draw) -> bool:
    """Say whether a draw is of the least smoky class of its plan."""
    return draw_class(parts, draw) == min(draw_class(parts, each) for each in parts.draws)
