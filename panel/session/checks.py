"""Everything that speaks against a plan, all at once, and what is only worth knowing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sqlalchemy.orm import Session

from panel.kinds import Manner
from panel.session.blueprint import glasses_a_flight
from panel.session.care import Sitting, dose_faults, sitting_minutes, tray_dose
from panel.session.design import flights_needed
from panel.session.kinds import HELD
from panel.session.liquids import Liquid
from panel.session.plan_parts import AS_DRAFTED, AUTO, PlanParts, SessionPlan
from panel.store.house import number_setting, rule_for
from panel.store.word_text import name_fault

LONGEST_NAME = 60
MOST_REPLICATES = 6
DONE_WITH = {Manner.NOSE: "only nosed", Manner.TASTE: "tasted"}


def plan_faults(db: Session, plan: SessionPlan, parts: PlanParts) -> list[str]:
    """Return every reason why a plan cannot be served, in the order of the plan."""
    return [
        *_name_faults(plan),
        *parts.faults,
        *_setting_faults(plan),
        *_size_faults(db, plan, parts),
        *_strength_faults(parts.liquids.values()),
        *_dose_faults(db, plan, parts),
    ]


def _name_faults(plan: SessionPlan) -> Iterator[str]:
    if not plan.name.strip() or not plan.name.isprintable() or name_fault(plan.name):
        yield "A session needs a name that can be printed."
    if len(plan.name) > LONGEST_NAME:
        yield f"The session's name has {len(plan.name)} characters; {LONGEST_NAME} fit on a sheet."


def _setting_faults(plan: SessionPlan) -> Iterator[str]:
    if not 1 <= plan.replicates <= MOST_REPLICATES:
        yield f"{plan.replicates} glasses of each draw: 1 to {MOST_REPLICATES} can be served."
    for name, value in (
        ("pour_ml", plan.pour_ml),
        ("nosing_abv", plan.nosing_abv),
        ("pause_s", plan.pause_s),
        ("own_words", plan.most_words),
    ):
        rule = rule_for(name)
        if value is not None and not rule.low <= value <= rule.high:
            yield f"{name} is {value:g}; it lies from {rule.low:g} to {rule.high:g} {rule.unit}."
    if plan.assigned and any(n_duplicates(plan) > len(own) for own in plan.trays.values()):
        yield f"{n_duplicates(plan)} duplicates a tray, and some trays hold fewer samples."
    elif n_duplicates(plan) > len(plan.draws):
        yield f"{n_duplicates(plan)} duplicates of {len(plan.draws)} draws: each is doubled once."
    yield from HELD[plan.kind].setting_faults(plan)
    yield from _kind_faults(plan)
    if plan.seed is not None and not 0 <= plan.seed < 2**128:
        yield f"The seed is {plan.seed}; it is a whole number from 0 up, of 128 bits at most."


def _kind_faults(plan: SessionPlan) -> Iterator[str]:
    facts = plan.kind.facts
    if plan.manner not in facts.manners:
        yield f"In a session of the kind {plan.kind.value!r} no glass is {DONE_WITH[plan.manner]}."
    if plan.assigned and facts.own_lines:
        yield "In own words everybody noses every glass: leave out who gets which."
    if plan.replicates > 1 and not facts.repeats:
        yield f"In a session of the kind {plan.kind.value!r} each draw is poured once."


def test_glasses(plan: SessionPlan) -> int:
    """Return the glasses of the largest tray without reference and warm-up."""
    return max(_of_each(plan).values(), default=n_duplicates(plan))


def _of_each(plan: SessionPlan) -> dict[str, int]:
    """Return the glasses of each tray without reference and warm-up."""
    named = {label for label in plan.duplicates if label not in {AUTO, AS_DRAFTED}}
    left_open = n_duplicates(plan) - len(named)
    return {
        who: len(samples) * max(1, plan.replicates)
        + (len(named & set(samples)) if plan.assigned else len(named))
        + left_open
        for who, samples in plan.trays.items()
    }


def n_duplicates(plan: SessionPlan) -> int:
    """Return how many draws are poured once more than the others."""
    return sum(label != AUTO or plan.replicates <= 1 for label in plan.duplicates)


def flights_of(db: Session, plan: SessionPlan, tests: int | None = None) -> int:
    """Return how many flights the largest tray takes, or one with so many glasses to tell apart."""
    return flights_needed(
        test_glasses(plan) if tests is None else tests,
        reference=plan.reference is not None,
        glasses_a_flight=glasses_a_flight(db, plan.manner),
    )


def _tray_size(db: Session, plan: SessionPlan, tests: int | None = None) -> int:
    tests = test_glasses(plan) if tests is None else tests
    references = flights_of(db, plan, tests) if plan.reference else 0
    return tests + references + (plan.warm_up is not None)


def _size_faults(db: Session, plan: SessionPlan, parts: PlanParts) -> Iterator[str]:
    flights, most = flights_of(db, plan), int(number_setting(db, "flights_a_day"))
    a_flight = glasses_a_flight(db, plan.manner)
    if flights > most:
        yield (
            f"{test_glasses(plan)} glasses to nose need {flights} flights of {a_flight} (a "
            f"reference in each counted); the house serves {most} an evening. Split the draws "
            "over two sessions with the same reference."
        )
    if flights > 1 and len(parts.people) == 1:
        yield (
            f"{test_glasses(plan)} glasses need {flights} flights, and with one assessor no glass "
            "of one flight ever meets one of another: ask a second assessor or nose fewer glasses."
        )
    yield from _line_faults(db, plan, flights)


def _line_faults(db: Session, plan: SessionPlan, flights: int) -> Iterator[str]:
    lines, most_lines = len(plan.descriptors), int(number_setting(db, "session_descriptors"))
    if lines > most_lines and not plan.insist:
        sitting = Sitting(_tray_size(db, plan), flights, lines, pause_s=0)
        scoring = sitting_minutes(db, sitting)
        yield (
            f"{lines} descriptors: the house scores {most_lines} at most. These would take every "
            f"assessor {scoring:.0f} minutes without pauses. Leave some out, or insist."
        )


def _strength_faults(liquids: Iterable[Liquid]) -> Iterator[str]:
    for liquid in liquids:
        if liquid.strength is None:
            yield (
                f"Draw {liquid.label!r} has no strength, so its water cannot be reckoned: measure "
                "it and load it with its `abv`."
            )


def _dose_faults(db: Session, plan: SessionPlan, parts: PlanParts) -> list[str]:
    if plan.manner is not Manner.TASTE:
        return []
    pour_ml = plan.pour_ml or number_setting(db, "pour_ml")
    abv = plan.nosing_abv or number_setting(db, "nosing_abv")
    if pour_ml <= 0 or not 0 < abv <= 100:
        return []
    known = {person.code: person.id for person in parts.people}
    alike: dict[int, dict[str, int]] = {}
    for code, tests in _of_each(plan).items():
        if code in known:
            alike.setdefault(tests, {})[code] = known[code]
    return [
        fault
        for tests, people in alike.items()
        for fault in dose_faults(
            db,
            tray_dose(db, _tray_size(db, plan, tests), pour_ml, abv),
            people,
            plan.held_on,
            plan.name,
        )
    ]
