"""Sessions in which glasses stand in sets: picked, sorted or ranked side by side.

A set is a flight of its own on every tray. Each of its glasses stands as often before as after the
others, over people and over sets, so that a place cannot be taken for a product.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from itertools import permutations
from math import ceil
from typing import TYPE_CHECKING

from panel.errors import PlanRefused
from panel.figures import in_digits
from panel.kinds import Manner, PeatOrder, Task
from panel.session.balance import PositionBalancer, Row
from panel.session.codes import CodesError, CodeSharing, generator, shuffled
from panel.session.design import Design
from panel.session.design_figures import of_one_set
from panel.session.held_as import HeldAs, LineWork, SeatLines
from panel.session.orders import peat_class, serving_orders
from panel.session.paper import paragraph
from panel.session.tray_codes import codes_of_trays
from panel.store.house import number_setting

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.difference import DifferencePlan
    from analysis.ranking import RankingPlan
    from panel.session.blueprint import Blueprint
    from panel.session.plan_parts import PlanParts, SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.sessions import PanelSession, Serving

FEWEST_RANKED, MOST_RANKED = 3, 8
"""Products in a ranking: of two there is a pair, and of more nobody keeps the first in mind."""
LOOKS = 3
"""At each glass of a set: once through, once to compare, once more (house rule)."""
ASKS_A_NOTE = {Task.PICK: True, Task.SORT: False, Task.RANK: True}
PRODUCTS = {Task.PICK: (2, 2), Task.SORT: (2, 2), Task.RANK: (FEWEST_RANKED, MOST_RANKED)}


def _line_faults(plan: SessionPlan) -> Iterator[str]:
    task = _task_of(plan)
    if ASKS_A_NOTE[task] and len(plan.descriptors) != 1:
        yield f"One descriptor is asked about; the plan names {len(plan.descriptors)}."
    if not ASKS_A_NOTE[task] and plan.descriptors:
        yield "Sorted two and two, glasses are not asked about one note: leave it out."


def _task_of(plan: SessionPlan) -> Task:
    task = plan.kind.facts.task
    if task is None:
        raise ValueError(f"{plan.kind.value} is not held in sets")
    return task


def _setting_faults(plan: SessionPlan) -> Iterator[str]:
    task = _task_of(plan)
    fewest, most = PRODUCTS[task]
    if not fewest <= len(set(plan.draws)) <= most:
        between = str(fewest) if fewest == most else f"{fewest} to {most}"
        yield f"{len(set(plan.draws))} draws: in a session of this kind there are {between}."
    if plan.most_words is not None:
        yield "A number of words goes with own words only."
    if plan.reference or plan.warm_up:
        yield "In sets there is neither a reference nor a warm-up glass: leave them out."
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
    glasses = len(set(plan.draws)) * max(1, plan.replicates) * plan.kind.facts.of_each
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


# ---------------------------------------------------------------------- trays


def design_sets(plan: Blueprint) -> Design:
    """Return trays of sets.

    Raises
    ------
    PlanRefused
        There are too few codes.
    """
    own = _by_draw(plan)
    of_each = plan.session.kind.facts.of_each
    n_sets = len(own[0]) // of_each
    people = plan.order.assessors
    drawn = generator(plan.seed, "orders")
    rows = _rows(plan, len(own) * of_each, n_sets, people, drawn)
    trays = []
    for who in range(people):
        flights = []
        for number in range(n_sets):
            glasses = [mine[number * of_each + one] for mine in own for one in range(of_each)]
            flights.append(tuple(glasses[place] for place in rows[number][who]))
        trays.append(tuple(flights))
    sharing = (
        CodeSharing.EACH_ASSESSOR if plan.order.codes_per_assessor else CodeSharing.ALL_ASSESSORS
    )
    try:
        codes = codes_of_trays(
            *(trays, len(plan.glasses), None),
            *(generator(plan.seed, "codes"), plan.order.avoid, sharing),
        )
    except CodesError as error:
        raise PlanRefused(str(error)) from error
    every = [row for each in rows for row in each]
    balance = PositionBalancer(every, [0] * len(every[0])).balance()
    words = (_even_words(every, of_each),)
    return Design(plan.glasses, tuple(trays), codes, None, words, of_one_set(balance))


def _by_draw(plan: Blueprint) -> list[list[int]]:
    """Return the places of each draw's glasses, in the order of the plan."""
    own: dict[int, list[int]] = {}
    for place, glass in enumerate(plan.glasses):
        own.setdefault(glass.draw_id, []).append(place)
    return list(own.values())


def _rows(
    plan: Blueprint, size: int, n_sets: int, people: int, drawn: random.Random
) -> list[list[Row]]:
    """Return by set and assessor in which order its glasses stand."""
    if plan.session.kind.facts.task is Task.RANK:
        return [list(serving_orders(size, people, drawn).orders) for _ in range(n_sets)]
    orders = _orders_of_two(plan.session.kind.facts.of_each)
    used = [0] * len(orders)
    found: list[list[Row]] = []
    for _ in range(n_sets):
        whole, rest = divmod(people, len(orders))
        fewest = sorted(shuffled(range(len(orders)), drawn), key=lambda i: used[i])
        mine = [*list(range(len(orders))) * whole, *fewest[:rest]]
        for i in mine:
            used[i] += 1
        found.append([orders[i] for i in shuffled(mine, drawn)])
    return found


def _orders_of_two(of_each: int) -> list[Row]:
    """Return every order of two products, so many glasses of each: two of pairs, six of fours."""
    first = frozenset(range(of_each))
    every: dict[tuple[bool, ...], Row] = {}
    for order in permutations(range(2 * of_each)):
        every.setdefault(tuple(glass in first for glass in order), order)
    return list(every.values())


def _even_words(rows: Sequence[Row], of_each: int) -> str:
    """Say how often each product stands first; by number alone, so that it tells no product."""
    products = len(rows[0]) // of_each
    first = [sum(row[0] // of_each == product for row in rows) for product in range(products)]
    low, high = min(first), max(first)
    times = str(low) if low == high else f"{low} to {high}"
    return f"Each product stands first in {times} of {len(rows)} sets; every set is drawn anew."


# ---------------------------------------------------------------------- what a plan says


def _warnings(plan: Blueprint) -> Iterator[str]:
    classes = {peat_class(glass.phenol_ppm) for glass in plan.glasses}
    if len(classes) > 1:
        yield (
            "the products are of different peat, and smoke stays in the nose: what is nosed after "
            "it smells of it. Ask about one note by name, side by side, with more air between."
        )
    if plan.session.kind.facts.task is Task.SORT and max(classes) > 0:
        yield (
            "two and two takes four glasses one after the other: with smoke in them ask for the "
            "stronger of two on a named note."
        )
    few = len(plan.session.assessors)
    if few == 1:
        yield "one assessor answers: what is found holds of this nose alone."


def _work(plan: Blueprint, design: Design) -> LineWork:
    """Count a set as a stop, and each look at its glasses and an answer as lines."""
    size = len(design.trays[0][0])
    flights = ceil(max(design.sizes()) / plan.order.glasses_a_flight)
    return LineWork(LOOKS * size + 1, stops=design.flights, flights=flights)


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
    }[task]


def _lines_said(summary: PlanSummary) -> str:
    task = summary.kind.facts.task or Task.PICK
    return _asked_words(task, ", ".join(summary.descriptors))


def _sheet_said(session: PanelSession) -> str:
    names = [line.descriptor_version.descriptor.name for line in session.descriptors]
    return _asked_words(session.kind.facts.task or Task.PICK, ", ".join(names))


def _ballot(session: PanelSession, tray: Sequence[Serving]) -> Iterator[str]:
    """Give every set of a tray with what is to be marked on it."""
    task = session.kind.facts.task or Task.PICK
    note = ", ".join(line.descriptor_version.descriptor.name for line in session.descriptors)
    for number in sorted({glass.flight for glass in tray}):
        codes = [glass.code for glass in tray if glass.flight == number]
        yield from paragraph(f"Set {number}: {ON_PAPER[task].format(first=codes[0], note=note)}")
        mark = "place ___" if task is Task.RANK else "[ ]"
        first = "(the first)" if task is Task.SORT else mark
        yield "    " + "    ".join(
            f"{code} {first if place == 0 else mark}" for place, code in enumerate(codes)
        )
        yield ""


ON_PAPER = {
    Task.PICK: "tick the one that has more {note}",
    Task.SORT: "tick the one that goes with {first}",
    Task.RANK: "1 for the most {note}; equal places are allowed",
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
