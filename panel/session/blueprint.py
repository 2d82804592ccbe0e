"""A session's plan read back from the database, and the trays that its secret bits give."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord
from panel.kinds import GlassKind, Manner, PeatOrder, SessionKind
from panel.session.balance import Row
from panel.session.codes import codes_to_avoid
from panel.session.design import Design, DesignOrder, PlannedGlass, flights_needed
from panel.session.elsewhere.recalled import refuse_without_key
from panel.session.kinds import HELD
from panel.session.liquids import Liquid, liquids_of
from panel.store.house import number_setting
from panel.store.key import KeySecret, PlannedDraw, PlannedFinding, PlannedServing, PlannedWay
from panel.store.sessions import PanelSession

SPECIAL = (GlassKind.REFERENCE, GlassKind.WARM_UP)
"""Glasses that are not there to be told apart."""


@dataclass(frozen=True)
class Blueprint:
    """What a planned session consists of."""

    session: PanelSession
    seed: int
    planned: tuple[PlannedDraw, ...]
    liquids: Mapping[int, Liquid]
    glasses: tuple[PlannedGlass, ...]
    order: DesignOrder
    finding: PlannedFinding | None = None
    """What was asked before the first glass, where anything was."""

    @cached_property
    def laid(self) -> Design:
        """Trays and codes, searched for once."""
        return HELD[self.session.kind].design(self)

    def design(self) -> Design:
        """Return trays and codes, the same whenever records and secret bits are."""
        return self.laid

    def glasses_of(self, draw_id: int) -> int:
        """Return how many glasses of a draw stand on one tray."""
        return sum(glass.draw_id == draw_id for glass in self.glasses)


def blueprint_of(db: Session, session: PanelSession) -> Blueprint:
    """Read a planned session's parts as they stand on the date it is held.

    Raises
    ------
    UnknownRecord
        The session was loaded from a file: it has scores, but no plan.
    SessionError
        It came in a pack: its plan is at home.
    """
    refuse_without_key(db, session, "this")
    secret = db.get(KeySecret, session.id)
    if secret is None or session.held_on is None:
        raise UnknownRecord(f"Session {session.name!r} was loaded from a file and has no plan.")
    planned = tuple(
        db.scalars(
            select(PlannedDraw)
            .where(PlannedDraw.session_id == session.id)
            .order_by(PlannedDraw.kind, PlannedDraw.place)
        )
    )
    draws = list({row.draw_id: row.draw for row in planned}.values())
    liquids = liquids_of(db, draws, session.held_on, besides=session.id)
    a_flight = glasses_a_flight(db, session.kind, session.manner)
    on_trays = db.scalars(select(PlannedServing).where(PlannedServing.session_id == session.id))
    by_seat = _by_seat(on_trays, session)
    flights = _sets(planned, session.kind) or _flights(planned, by_seat, a_flight)
    glasses = tuple(_glasses(planned, liquids, flights))
    way = db.get(PlannedWay, session.id)
    order = DesignOrder(
        assessors=len(session.assessors),
        glasses_a_flight=a_flight,
        codes_per_assessor=session.codes_per_assessor,
        avoid=_avoid(list(liquids.values())),
        shares=_shares(by_seat, glasses),
        peat=way.peat if way else PeatOrder.RISING,
        last_from=_last_from(planned, by_seat) if way and way.after_peat else None,
    )
    finding = db.get(PlannedFinding, session.id)
    return Blueprint(session, int(secret.seed_hex, 16), planned, liquids, glasses, order, finding)


def glasses_a_flight(db: Session, kind: SessionKind, manner: Manner) -> int:
    """Return how many glasses the house serves in one flight of such a session."""
    usual = "flight_glasses" if manner is Manner.NOSE else "tasting_glasses"
    return int(number_setting(db, kind.facts.glasses_setting or usual))


def _avoid(known: Sequence[Liquid]) -> frozenset[str]:
    return codes_to_avoid(
        [cask for liquid in known for cask in liquid.casks],
        [liquid.strength.abv_percent for liquid in known if liquid.strength],
        [int(liquid.age_years) for liquid in known if liquid.age_years is not None],
    )


def _by_seat(
    rows: Iterable[PlannedServing], session: PanelSession
) -> list[dict[int, list[PlannedServing]]]:
    """Return the glasses by flight of every seat; nothing where everybody gets everything."""
    found: dict[int, dict[int, list[PlannedServing]]] = {s.seat: {} for s in session.assessors}
    for row in rows:
        if row.seat in found:  # else its person was erased meanwhile
            found[row.seat].setdefault(row.flight, []).append(row)
    return list(found.values()) if any(found.values()) else []


def _flights(
    planned: Sequence[PlannedDraw],
    by_seat: Sequence[Mapping[int, object]],
    a_flight: int,
) -> int:
    if by_seat:
        return max(max(flights, default=1) for flights in by_seat)
    return flights_needed(
        sum(row.glasses for row in planned if row.kind not in SPECIAL),
        reference=any(row.kind is GlassKind.REFERENCE for row in planned),
        glasses_a_flight=a_flight,
    )


def _sets(planned: Sequence[PlannedDraw], kind: SessionKind) -> int:
    """Return how many sets everybody gets, each with its reference; 0 where none stand in sets."""
    tests = [row.glasses for row in planned if row.kind not in SPECIAL]
    return min(tests, default=0) // kind.facts.of_each if kind.facts.in_sets else 0


def _last_from(
    planned: Sequence[PlannedDraw], by_seat: Sequence[Mapping[int, Sequence[PlannedServing]]]
) -> int:
    """Return from which glass of a draw on it is a duplicate."""
    if not by_seat:
        return min(row.glasses for row in planned if row.kind not in SPECIAL) + 1
    on_tray = Counter(
        (row.seat, row.draw_id) for flights in by_seat for rows in flights.values() for row in rows
    )
    return min(on_tray.values()) + 1


def _shares(
    by_seat: Sequence[Mapping[int, Sequence[PlannedServing]]], glasses: Sequence[PlannedGlass]
) -> tuple[tuple[Row, ...], ...]:
    """Return the same by the places of the glasses, in a row that says nothing by itself."""
    place = {(g.draw_id, g.replicate): i for i, g in enumerate(glasses) if g.kind not in SPECIAL}
    return tuple(
        tuple(
            tuple(sorted(place[row.draw_id, row.replicate] for row in flights[flight]))
            for flight in sorted(flights)
        )
        for flights in by_seat
    )


def _glasses(
    planned: Sequence[PlannedDraw], liquids: Mapping[int, Liquid], flights: int
) -> list[PlannedGlass]:
    tests = [row for row in planned if row.kind not in SPECIAL]
    references = [row for row in planned if row.kind is GlassKind.REFERENCE]
    warm_ups = [row for row in planned if row.kind is GlassKind.WARM_UP]
    served = [(row, row.glasses) for row in sorted(tests, key=lambda row: row.place)]
    served += [(row, flights) for row in references]
    served += [(row, 1) for row in warm_ups]
    return [
        PlannedGlass(row.draw_id, row.kind, replicate, liquids[row.draw_id].phenol_ppm or 0.0)
        for row, glasses in served
        for replicate in range(1, glasses + 1)
    ]
