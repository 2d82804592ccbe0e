"""Everything that speaks against a plan, all at once, and what is only worth knowing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sqlalchemy.orm import Session

from panel.figures import in_digits
from panel.kinds import Manner
from panel.session.blueprint import glasses_a_flight
from panel.session.care import Sitting, dose_faults, sitting_minutes, tray_dose
from panel.session.kinds import HELD
from panel.session.liquids import Liquid
from panel.session.plan_parts import PlanParts, SessionPlan
from panel.session.sizes import (
    flights_of,
    glasses_of_each,
    n_duplicates,
    test_glasses,
    tray_size,
)
from panel.session.smoke import smoke_faults
from panel.store.house import number_setting, rule_for
from panel.store.word_text import name_fault

LONGEST_NAME = 60
MOST_REPLICATES = 6
MOST_SETS = 16
MOST_SEARCH = 100
DONE_WITH = {Manner.NOSE: "only nosed", Manner.TASTE: "tasted"}


def plan_faults(db: Session, plan: SessionPlan, parts: PlanParts) -> list[str]:
    """Return every reason why a plan cannot be served, in the order of the plan."""
    return [
        *_name_faults(plan),
        *parts.faults,
        *_setting_faults(plan),
        *(HELD[plan.kind].size_faults or _size_faults)(db, plan, parts),
        *_strength_faults(parts.liquids.values()),
        *smoke_faults(plan, parts),
        *_dose_faults(db, plan, parts),
    ]


def _name_faults(plan: SessionPlan) -> Iterator[str]:
    if not plan.name.strip() or not plan.name.isprintable() or name_fault(plan.name):
        yield "A session needs a name that can be printed."
    if len(plan.name) > LONGEST_NAME:
        yield f"The session's name has {len(plan.name)} characters; {LONGEST_NAME} fit on a sheet."


def _setting_faults(plan: SessionPlan) -> Iterator[str]:
    most, what = (
        (MOST_SETS, "sets each")
        if plan.kind.facts.in_sets
        else (MOST_REPLICATES, "glasses of each draw")
    )
    if not 1 <= plan.replicates <= most:
        yield f"{plan.replicates} {what}: 1 to {most} can be served."
    if not plan.kind.facts.in_sets and (plan.alike_within is not None or plan.stronger):
        yield "What is alike, or expected to be the stronger, is asked where glasses stand in sets."
    for name, value in (
        ("pour_ml", plan.pour_ml),
        ("nosing_abv", plan.nosing_abv),
        ("pause_s", plan.pause_s),
        ("own_words", plan.most_words),
    ):
        rule = rule_for(name)
        if value is not None and not rule.low <= value <= rule.high:
            yield (
                f"{name} is {in_digits(value, 'g')}; it lies from "
                f"{in_digits(rule.low, 'g')} to {in_digits(rule.high, 'g')} {rule.unit}."
            )
    if plan.assigned and any(n_duplicates(plan) > len(own) for own in plan.trays.values()):
        yield f"{n_duplicates(plan)} duplicates a tray, and some trays hold fewer samples."
    elif n_duplicates(plan) > len(plan.draws):
        yield f"{n_duplicates(plan)} duplicates of {len(plan.draws)} draws: each is doubled once."
    yield from _tray_faults(plan)
    yield from HELD[plan.kind].setting_faults(plan)
    if plan.stages and not plan.kind.facts.staged:
        yield f"Notes by stages go with a session of that kind; this one is {plan.kind.value}."
    yield from _kind_faults(plan)
    if plan.seed is not None and not 0 <= plan.seed < 2**128:
        yield f"The seed is {plan.seed}; it is a whole number from 0 up, of 128 bits at most."


def _tray_faults(plan: SessionPlan) -> Iterator[str]:
    if plan.assigned and plan.glasses_each is not None:
        yield "Say who gets which sample, or how many each gets: not both."
    if plan.glasses_each is not None and plan.glasses_each < 2:
        yield f"{plan.glasses_each} samples each: samples are compared on a tray, so 2 at least."
    if not 1 <= plan.search <= MOST_SEARCH:
        yield f"The search takes 1 to {MOST_SEARCH} times the usual work, not {plan.search}."


def _kind_faults(plan: SessionPlan) -> Iterator[str]:
    facts = plan.kind.facts
    if plan.manner not in facts.manners:
        yield f"In a session of the kind {plan.kind.value!r} no glass is {DONE_WITH[plan.manner]}."
    if (plan.assigned or plan.glasses_each) and facts.own_lines:
        yield "In own words everybody noses every glass: leave out who gets which."
    if plan.replicates > 1 and not facts.repeats:
        yield f"In a session of the kind {plan.kind.value!r} each draw is poured once."


def _size_faults(db: Session, plan: SessionPlan, parts: PlanParts) -> Iterator[str]:
    flights, most = (
        flights_of(db, plan, parts),
        int(number_setting(db, plan.kind.facts.flights_setting)),
    )
    a_flight = glasses_a_flight(db, plan.kind, plan.manner)
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
    yield from _line_faults(db, plan, parts, flights)


def _line_faults(db: Session, plan: SessionPlan, parts: PlanParts, flights: int) -> Iterator[str]:
    lines, most_lines = len(plan.descriptors), int(number_setting(db, "session_descriptors"))
    if lines > most_lines and not plan.insist:
        sitting = Sitting(tray_size(db, plan, parts), flights, lines, pause_s=0)
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
    for code, tests in glasses_of_each(plan).items():
        if code in known:
            alike.setdefault(tests, {})[code] = known[code]
    return [
        fault
        for tests, people in alike.items()
        for fault in dose_faults(
            db,
            tray_dose(db, tray_size(db, plan, parts, tests), pour_ml, abv),
            people,
            plan.held_on,
            plan.name,
        )
    ]
