"""Which glasses of a draft stand on whose tray and in which flight, where trays differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from panel.session.blueprint import glasses_a_flight
from panel.session.checks import n_duplicates
from panel.session.codes import generator
from panel.session.plan_parts import PlanParts, SessionPlan
from panel.session.shares import flights_of_trays, spread_duplicates
from panel.store.draws import Draw


@dataclass(frozen=True)
class TrayGlass:
    """One glass of a sample for one seat; `replicate` counts the glasses of it on that tray."""

    seat: int
    draw: Draw
    replicate: int
    flight: int


def laid_trays(
    db: Session, plan: SessionPlan, parts: PlanParts, seed: int
) -> tuple[TrayGlass, ...]:
    """Return the test glasses of every tray; none where everybody gets everything as usual.

    Duplicates that are left open are chosen by the secret bits, for each tray among what stands on
    it, so that all samples are doubled about as often.
    """
    if not plan.assigned:
        return ()
    own = _samples_of_seats(plan, parts)
    doubled = _doubled(plan, parts, own, seed)
    glasses = [
        [
            (place, replicate)
            for place in tray
            for replicate in range(1, 1 + max(1, plan.replicates) + (place in twice))
        ]
        for tray, twice in zip(own, doubled, strict=True)
    ]
    number = {one: i for i, one in enumerate(sorted({one for tray in glasses for one in tray}))}
    back = {i: one for one, i in number.items()}
    split = flights_of_trays(
        [[number[one] for one in tray] for tray in glasses],
        len(number),
        glasses_a_flight(db, plan.manner) - (plan.reference is not None),
        generator(seed, "flights"),
    )
    return tuple(
        TrayGlass(seat, parts.draws[back[glass][0]], back[glass][1], flight)
        for seat, mine in enumerate(split, start=1)
        for flight, row in enumerate(mine, start=1)
        for glass in row
    )


def _samples_of_seats(plan: SessionPlan, parts: PlanParts) -> list[list[int]]:
    """Return by seat the places of its samples among the draws of the plan."""
    place = {draw.label: i for i, draw in enumerate(parts.draws)}
    trays = plan.trays
    return [[place[label] for label in trays[person.code]] for person in parts.people]


def _doubled(
    plan: SessionPlan, parts: PlanParts, own: Sequence[Sequence[int]], seed: int
) -> list[set[int]]:
    named = {i for i, draw in enumerate(parts.draws) if draw in parts.duplicates}
    left_open = n_duplicates(plan) - len(named)
    free = set(range(len(parts.draws))) - named
    drawn = spread_duplicates(own, left_open, generator(seed, "duplicate"), free)
    return [set(twice) | named & set(tray) for twice, tray in zip(drawn, own, strict=True)]
