"""Sessions in which glasses stand in sets: picked, sorted or ranked side by side.

A set is a flight of its own on every tray, laid by `set_trays.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import ceil
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.kinds import GlassKind, Manner, PeatOrder, Task
from panel.session.held_as import HeldAs, LineWork, SeatLines
from panel.session.orders import peat_class
from panel.session.paper import paragraph
from panel.session.set_trays import design_sets
from panel.store.house import number_setting

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.difference import DifferencePlan
    from analysis.ranking import RankingPlan
    from panel.session.blueprint import Blueprint
    from panel.session.design import Design
    from panel.session.plan_parts import PlanParts, SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.sessions import PanelSession, Serving

FEWEST_RANKED, MOST_RANKED = 3, 8
"""Products in a ranking: of two there is a pair, and of more nobody keeps the first in mind."""
LOOKS = 3
"""At each glass of a set: once through, once to compare, once more (house rule)."""
ASKS_A_NOTE = frozenset({Task.PICK, Task.RANK})
"""Where one note is asked about; else whatever there is."""


def _line_faults(plan: SessionPlan) -> Iterator[str]:
    task = _task_of(plan)
    if task in ASKS_A_NOTE and len(plan.descriptors) != 1:
        yield f"One descriptor is asked about; the plan names {len(plan.descriptors)}."
    if task not in ASKS_A_NOTE and plan.descriptors:
        yield f"Asked {plan.kind.value}, nobody is asked about one note: leave it out."


def _task_of(plan: SessionPlan) -> Task:
    task = plan.kind.facts.task
    if task is None:
        raise ValueError(f"{plan.kind.value} is not held in sets")
    return task


def _setting_faults(plan: SessionPlan) -> Iterator[str]:
    task = _task_of(plan)
    fewest, most = (FEWEST_RANKED, MOST_RANKED) if task is Task.RANK else (2, 2)
    if not fewest <= len(set(plan.draws)) <= most:
        between = str(fewest) if fewest == most else f"{fewest} to {most}"
        yield f"{len(set(plan.draws))} draws: in a session of this kind there are {between}."
    if plan.most_words is not None:
        yield "A number of words goes with own words only."
    if plan.warm_up or (plan.reference and not task.marks_first):
        yield "In sets there is neither a reference nor a warm-up glass: leave them out."
    if task.marks_first and plan.reference and plan.reference not in plan.draws:
        yield (
            f"{plan.reference!r} is to be the marked reference and is none of the two draws. Leave "
            "it out, and now the one is the reference, now the other."
        )
    if plan.duplicates:
        yield "In sets nothing is poured once more: ask for more sets each (replicates)."
    if plan.assigned or plan.glasses_each is not None or plan.search != 1:
        yield "In sets everybody gets every glass: leave out who gets which."
    if plan.peat not in (None, PeatOrder.BALANCED) or plan.after_peat:
        yield "In sets glasses stand in every order: leave out where the smoke stands."
    yield from _finding_faults(plan, task)


def _finding_faults(plan: SessionPlan, task: Task) -> Iterator[str]:
    if task is Task.RANK and plan.alike_within is not None:
        yield "A ranking finds nothing alike: ask that of two products."
    if plan.alike_within is not None and not 0 < plan.alike_within <= 4:
        yield (
            f"Alike within a d-prime of {in_digits(plan.alike_within, 'g')}: it "
            "lies above 0 and up to 4."
        )
    if plan.stronger is not None and task is not Task.PICK:
        yield "Which is expected to be the stronger is asked of the stronger of two only."
    if plan.stronger is not None and plan.stronger not in plan.draws:
        yield f"{plan.stronger!r}, expected to be the stronger, is none of the draws."


def _size_faults(db: Session, plan: SessionPlan, _parts: PlanParts) -> Iterator[str]:
    glasses = plan.kind.facts.glasses_a_set(len(set(plan.draws))) * max(1, plan.replicates)
    nosed = plan.manner is Manner.NOSE
    a_flight = int(number_setting(db, "flight_glasses" if nosed else "tasting_glasses"))
    flights = int(number_setting(db, "flights_a_day"))
    if glasses > flights * a_flight:
        yield (
            f"{glasses} glasses each: the house serves {flights * a_flight} an evening ({flights} "
            f"flights of {a_flight}). Ask for fewer sets each, or for more assessors."
        )


def _no_words(_db: Session, _plan: SessionPlan) -> None:
    return None


def _warnings(plan: Blueprint) -> Iterator[str]:
    classes = {peat_class(glass.phenol_ppm) for glass in plan.glasses}
    if len(classes) > 1:
        yield (
            "the products are of different peat, and smoke stays in the nose: what is nosed after "
            "it smells of it. Ask about one note by name, side by side, with more air between."
        )
    facts = plan.session.kind.facts
    if facts.task not in ASKS_A_NOTE and max(classes) > 0:
        yield (
            f"asked {plan.session.kind.value}, {facts.glasses_a_set(2)} glasses are nosed one "
            "after the other: with smoke in them ask for the stronger of two on a named note."
        )
    few = len(plan.session.assessors)
    if few == 1:
        yield "one assessor answers: what is found holds of this nose alone."


def _work(plan: Blueprint, design: Design) -> LineWork:
    """Count a set as a stop, and each look at its glasses and an answer as lines.

    No break falls into a set: it is nosed side by side.
    """
    size = len(design.trays[0][0])
    flights = ceil(max(design.sizes()) / plan.order.glasses_a_flight)
    return LineWork(LOOKS * size + 1, stops=design.flights, flights=min(flights, design.flights))


def _seat_lines(_db: Session, session: PanelSession) -> Mapping[int, SeatLines]:
    return {seat.person_id: SeatLines(1) for seat in session.assessors}


def _can_tell(plan: Blueprint) -> DifferencePlan | RankingPlan:
    from panel.session.sets_power import sets_can_tell

    return sets_can_tell(plan)


def _asked_words(task: Task, note: str) -> str:
    return {
        Task.PICK: f"Pairs: which of the two has more {note}?",
        Task.SORT: "Fours, two of each product: sorted two and two.",
        Task.RANK: f"Ranked by {note}, most first; equal places are allowed.",
        Task.ODD: "Threes, two of one product: which is the odd one?",
        Task.MATCH: "Threes, the first a marked reference: which other is the same?",
    }[task]


def _lines_said(summary: PlanSummary) -> str:
    task = summary.kind.facts.task or Task.PICK
    said = _asked_words(task, ", ".join(summary.descriptors))
    return f"{said} {_which_reference(summary)}" if task.marks_first else said


def _which_reference(summary: PlanSummary) -> str:
    """Say to who plans which product is marked: the two ways that ISO 10399 has."""
    marked = [need.draw for need in summary.draws if need.kind == GlassKind.REFERENCE.value]
    if len(marked) == 1:
        return f"The reference is always {marked[0]} (constant): well where the panel knows it."
    return "Now the one is the reference, now the other, as often (balanced)."


def _sheet_said(session: PanelSession) -> str:
    names = [line.descriptor_version.descriptor.name for line in session.descriptors]
    return _asked_words(session.kind.facts.task or Task.PICK, ", ".join(names))


def _ballot(session: PanelSession, tray: Sequence[Serving]) -> Iterator[str]:
    """Give every set of a tray with what is to be marked on it."""
    task = session.kind.facts.task or Task.PICK
    called = "(the reference)" if task.marks_first else "(the first)"
    note = ", ".join(line.descriptor_version.descriptor.name for line in session.descriptors)
    for number in sorted({glass.flight for glass in tray}):
        codes = [glass.code for glass in tray if glass.flight == number]
        yield from paragraph(f"Set {number}: {ON_PAPER[task].format(first=codes[0], note=note)}")
        mark = "place ___" if task is Task.RANK else "[ ]"
        first = called if task.beside_first else mark
        yield "    " + "    ".join(
            f"{code} {first if place == 0 else mark}" for place, code in enumerate(codes)
        )
        yield ""


ON_PAPER = {
    Task.PICK: "tick the one that has more {note}",
    Task.SORT: "tick the one that goes with {first}",
    Task.RANK: "1 for the most {note}; equal places are allowed",
    Task.ODD: "two hold the same: tick the other, the odd one",
    Task.MATCH: "{first} is the reference, nosed first: tick what is the same",
}


IN_SETS = HeldAs(
    line_faults=_line_faults,
    setting_faults=_setting_faults,
    most_words=_no_words,
    design=design_sets,
    warnings=_warnings,
    work=_work,
    seat_lines=_seat_lines,
    lines_said=_lines_said,
    sheet_said=_sheet_said,
    can_tell=_can_tell,
    size_faults=_size_faults,
    ballot=_ballot,
)
