"""Which glasses of a draft stand on whose tray and in which flight, where trays differ."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.orm import Session

from panel.errors import PlanRefused
from panel.kinds import PeatOrder
from panel.session.blocks import DesignError
from panel.session.class_flights import split_by_class
from panel.session.codes import generator
from panel.session.design import BEHIND_SMOKE
from panel.session.incomplete import near_balanced
from panel.session.plan_parts import PlanParts, SessionPlan
from panel.session.shares import flights_of_trays, spread_duplicates
from panel.session.sizes import (
    draw_class,
    flight_size,
    flights_of,
    is_unpeated,
    n_duplicates,
)
from panel.session.tray_glass import TrayGlass
from panel.store.house import number_setting


def laid_trays(
    db: Session, plan: SessionPlan, parts: PlanParts, seed: int
) -> tuple[TrayGlass, ...]:
    """Return the test glasses of every tray; none where everybody gets everything as usual.

    Duplicates that are left open are chosen by the secret bits, for each tray among what stands on
    it, so that all samples are doubled about as often.

    Raises
    ------
    PlanRefused
        No trays were found that link all samples.
    """
    size, apart = flight_size(db, plan), plan.peat is PeatOrder.APART
    searched = plan.search > 1 and flights_of(db, plan, parts) > 1
    if not (plan.assigned or plan.glasses_each or apart or searched):
        return ()
    own = _samples_of_seats(plan, parts, seed)
    glasses = _with_doubled(plan, parts, own, seed)
    number = {one: i for i, one in enumerate(sorted({one for tray in glasses for one in tray}))}
    trays = [[number[one] for one in tray] for tray in glasses]
    drawn = generator(seed, "flights")
    if apart:
        most = int(number_setting(db, plan.kind.facts.flights_setting))
        ranks = [_rank(plan, parts, *one) for one in number]
        split = split_by_class(trays, ranks, size, most, drawn, plan.search)
    else:
        split = flights_of_trays(trays, len(number), size, drawn, plan.search)
    back = {i: one for one, i in number.items()}
    return tuple(
        TrayGlass(seat, parts.draws[back[glass][0]], back[glass][1], flight)
        for seat, mine in enumerate(split, start=1)
        for flight, row in enumerate(mine, start=1)
        for glass in row
    )


def _rank(plan: SessionPlan, parts: PlanParts, place: int, replicate: int) -> int:
    if plan.after_peat and replicate > max(1, plan.replicates):
        return BEHIND_SMOKE
    return draw_class(parts, parts.draws[place])


def _with_doubled(
    plan: SessionPlan, parts: PlanParts, own: Sequence[Sequence[int]], seed: int
) -> list[list[tuple[int, int]]]:
    """Return by seat its glasses: place of the draw, and which glass of it that is."""
    return [
        [
            (place, replicate)
            for place in tray
            for replicate in range(1, 1 + max(1, plan.replicates) + (place in twice))
        ]
        for tray, twice in zip(own, _doubled(plan, parts, own, seed), strict=True)
    ]


def _samples_of_seats(plan: SessionPlan, parts: PlanParts, seed: int) -> list[list[int]]:
    """Return by seat the places of its samples among the draws of the plan."""
    if plan.glasses_each is not None:
        drawn = generator(seed, "trays")
        try:
            return [
                sorted(row)
                for row in near_balanced(
                    len(parts.draws),
                    plan.glasses_each,
                    len(parts.people),
                    drawn,
                    search=plan.search,
                )
            ]
        except DesignError as error:
            raise PlanRefused(str(error)) from error
    place = {draw.label: i for i, draw in enumerate(parts.draws)}
    trays = plan.trays
    return [[place[label] for label in trays[person.code]] for person in parts.people]


def _doubled(
    plan: SessionPlan, parts: PlanParts, own: Sequence[Sequence[int]], seed: int
) -> list[set[int]]:
    named = {i for i, draw in enumerate(parts.draws) if draw in parts.duplicates}
    left_open = n_duplicates(plan) - len(named)
    free = set(_may_be_doubled(plan, parts)) - named
    drawn = spread_duplicates(own, left_open, generator(seed, "duplicate"), free)
    return [set(twice) | named & set(tray) for twice, tray in zip(drawn, own, strict=True)]


def _may_be_doubled(plan: SessionPlan, parts: PlanParts) -> list[int]:
    """Return the places of the draws of which a second glass may be poured."""
    draws = enumerate(parts.draws)
    return [i for i, draw in draws if not plan.after_peat or is_unpeated(parts, draw)]
