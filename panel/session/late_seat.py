"""A seat and a tray for somebody who comes when nobody's tray is free."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import GlassKind
from panel.session.blueprint import Blueprint, blueprint_of
from panel.session.codes import CodesError, draw_codes, generator
from panel.session.design import PlannedGlass, reference_classes
from panel.session.late_tray import fresh_order, tray_to_repeat
from panel.store.key import KeyRow, behind_serving
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving, SessionAssessor

Tray = Mapping[int, Sequence[PlannedGlass]]
"""The glasses of one assessor by flight, in order; the warm-up glass alone in flight 0."""
WARM_UP_FLIGHT = 0


@dataclass(frozen=True)
class SeatMove:
    """Who came late, at which seat, with how many glasses; whose tray it was, if it was."""

    assessor: str
    seat: int
    glasses: int
    instead_of: str | None = None

    json_keys = ("assessor", "seat", "glasses", "instead_of")


def lay_late_tray(db: Session, session: PanelSession, late: Person) -> SeatMove:
    """Give a late assessor a seat, and glasses as another tray has them, in an order of their own.

    Raises
    ------
    UnknownRecord
        The session was loaded from a file and has no plan.
    """
    plan = blueprint_of(db, session)
    number = max((seat.seat for seat in session.assessors), default=0) + 1
    drawn = generator(plan.seed, f"late {number}")
    trays, codes = _trays_laid(db, plan)
    like = tray_to_repeat(trays, drawn)

    def rank(glasses: Sequence[PlannedGlass]) -> Sequence[int]:
        if plan.session.kind.facts.marks_reference:
            return [int(glass.kind is not GlassKind.REFERENCE) for glass in glasses]
        return reference_classes(glasses, plan.order.ranks(glasses))

    tray = {
        flight: fresh_order(glasses, [t.get(flight, ()) for t in trays], rank, drawn)
        for flight, glasses in sorted(like.items())
    }
    if session.codes_per_assessor:
        codes = _own_codes(db, plan, late, [g for row in tray.values() for g in row])
    db.add(SessionAssessor(session_id=session.id, person_id=late.id, seat=number))
    db.flush()
    db.add_all(_servings(session.id, late.id, tray, codes))
    db.flush()
    db.expire(session)
    return SeatMove(late.code, number, sum(map(len, tray.values())))


def _trays_laid(db: Session, plan: Blueprint) -> tuple[list[Tray], dict[PlannedGlass, str]]:
    """Return the trays in order, and under which code each glass stands."""
    rows = db.execute(
        select(Serving, KeyRow)
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .where(Serving.session_id == plan.session.id, Serving.pouring == 1)
        .order_by(Serving.person_id, Serving.flight, Serving.position)
    )
    trays: dict[int, dict[int, list[PlannedGlass]]] = {}
    codes: dict[PlannedGlass, str] = {}
    for serving, row in rows:
        peat = plan.liquids[row.draw_id].phenol_ppm or 0.0
        glass = PlannedGlass(row.draw_id, row.kind, row.replicate, peat)
        flight = WARM_UP_FLIGHT if serving.warm_up else serving.flight
        trays.setdefault(serving.person_id, {}).setdefault(flight, []).append(glass)
        codes[glass] = row.code
    return list(trays.values()), codes


def _own_codes(
    db: Session, plan: Blueprint, late: Person, glasses: Sequence[PlannedGlass]
) -> dict[PlannedGlass, str]:
    """Draw codes that nobody has yet, as far as there are any, and write them into the key."""
    used = select(KeyRow.code).where(KeyRow.session_id == plan.session.id)
    drawn = generator(plan.seed, f"late codes {late.id}")
    try:
        new = draw_codes(len(glasses), drawn, plan.order.avoid | set(db.scalars(used)))
    except CodesError:
        new = draw_codes(len(glasses), drawn, plan.order.avoid)
    codes = dict(zip(glasses, new, strict=True))
    db.add_all(
        KeyRow(
            session_id=plan.session.id,
            tray=late.code,
            code=codes[glass],
            draw_id=glass.draw_id,
            kind=glass.kind,
            replicate=glass.replicate,
        )
        for glass in sorted(glasses, key=codes.__getitem__)
    )
    return codes


def _servings(
    session_id: int, person_id: int, tray: Tray, codes: Mapping[PlannedGlass, str]
) -> list[Serving]:
    """Return the glasses by their codes, so that the order of the rows says nothing."""
    made: list[Serving] = []
    position = 0
    for flight, glasses in tray.items():
        for glass in glasses:
            warm_up = flight == WARM_UP_FLIGHT
            position += not warm_up
            made.append(
                Serving(
                    session_id=session_id,
                    person_id=person_id,
                    flight=1 if warm_up else flight,
                    position=0 if warm_up else position,
                    code=codes[glass],
                    warm_up=warm_up,
                )
            )
    return sorted(made, key=lambda serving: serving.code)
