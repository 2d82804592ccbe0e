"""From secret bits and a list of glasses to codes and serving orders: pure, no database.

The glasses are known here by their places in the list only. Nothing but their peat class reaches
orders and codes, so that two sessions that differ only in which draw is which get the same trays.
"""

from __future__ import annotations

import math
import random
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from panel.errors import PlanRefused
from panel.kinds import GlassKind
from panel.session.balance import Row
from panel.session.blocks import DesignError, resolvable_flights
from panel.session.codes import CodesError, CodeSharing, generator, shuffled
from panel.session.orders import peat_class, serving_orders
from panel.session.shares import ordered_shares
from panel.session.tray_codes import codes_of_trays


@dataclass(frozen=True)
class PlannedGlass:
    """One pouring of a draw: what the key will say of a code."""

    draw_id: int
    kind: GlassKind
    replicate: int
    phenol_ppm: float


@dataclass(frozen=True)
class DesignOrder:
    """What a design is made for. `glasses_a_flight` counts the reference, not the warm-up glass.

    `shares[assessor][flight]` are the test glasses of each, where not everybody gets every glass.
    """

    assessors: int
    glasses_a_flight: int
    codes_per_assessor: bool = False
    avoid: frozenset[str] = frozenset()
    shares: tuple[tuple[Row, ...], ...] = ()


@dataclass(frozen=True)
class Design:
    """`trays[assessor][flight]` lists glasses (places in `glasses`) in order of nosing.

    `codes[assessor][glass]` are their codes; the warm-up glass stands in no flight.
    """

    glasses: tuple[PlannedGlass, ...]
    trays: tuple[tuple[Row, ...], ...]
    codes: tuple[tuple[str, ...], ...]
    warm_up: int | None
    words: tuple[str, ...]

    @property
    def flights(self) -> int:
        """How many flights there are: those of whoever has the most."""
        return max(map(len, self.trays))

    def poured(self, draw_id: int, kind: GlassKind) -> tuple[int, ...]:
        """Return how many glasses of a draw stand on each tray."""
        own = {i for i, g in enumerate(self.glasses) if g.draw_id == draw_id and g.kind is kind}
        return tuple(
            sum(glass in own for row in tray for glass in row) + (self.warm_up in own)
            for tray in self.trays
        )

    def sizes(self) -> tuple[int, ...]:
        """Return how many glasses stand on each tray, the warm-up glass among them."""
        first = self.warm_up is not None
        return tuple(sum(map(len, tray)) + first for tray in self.trays)


def flights_needed(tests: int, *, reference: bool, glasses_a_flight: int) -> int:
    """Return the flights that hold all test glasses, with a reference in each."""
    return max(1, math.ceil(tests / (glasses_a_flight - reference)))


def design_session(seed: int, glasses: Sequence[PlannedGlass], order: DesignOrder) -> Design:
    """Return trays and codes; the same seed and order give the same ones anywhere.

    Raises
    ------
    PlanRefused
        There are too few assessors to link several flights, or too few codes.
    """
    warm_up = next((i for i, g in enumerate(glasses) if g.kind is GlassKind.WARM_UP), None)
    try:
        trays, words = _trays(seed, glasses, order)
        codes = codes_of_trays(
            trays,
            len(glasses),
            warm_up,
            generator(seed, "codes"),
            order.avoid,
            CodeSharing.EACH_ASSESSOR if order.codes_per_assessor else CodeSharing.ALL_ASSESSORS,
        )
    except (DesignError, CodesError) as error:
        raise PlanRefused(str(error)) from error
    return Design(tuple(glasses), trays, codes, warm_up, words)


def _trays(
    seed: int, glasses: Sequence[PlannedGlass], order: DesignOrder
) -> tuple[tuple[tuple[Row, ...], ...], tuple[str, ...]]:
    tests = _of_kind(glasses, {GlassKind.TEST, GlassKind.TRIAL, GlassKind.MARKET})
    references = _of_kind(glasses, {GlassKind.REFERENCE})
    if order.shares:
        return _shared_out(seed, glasses, references, order.shares)
    if len(tests) + len(references) <= order.glasses_a_flight:
        return _one_flight(seed, glasses, [*tests, *references], order.assessors)
    return _several_flights(seed, glasses, tests, references, order)


def _of_kind(glasses: Sequence[PlannedGlass], kinds: Collection[GlassKind]) -> list[int]:
    return [i for i, glass in enumerate(glasses) if glass.kind in kinds]


def _one_flight(
    seed: int, glasses: Sequence[PlannedGlass], served: Sequence[int], assessors: int
) -> tuple[tuple[tuple[Row, ...], ...], tuple[str, ...]]:
    classes = reference_classes([glasses[i] for i in served])
    made = serving_orders(len(served), assessors, generator(seed, "orders"), classes)
    trays = tuple((tuple(served[glass] for glass in row),) for row in made.orders)
    return trays, (made.balance.sentence(),)


def reference_classes(glasses: Sequence[PlannedGlass]) -> list[int]:
    """Return the peat class of each glass; a reference joins the first class that tests have.

    In a class of its own it would stand first on every tray, and be known by that.
    """
    own = [peat_class(glass.phenol_ppm) for glass in glasses]
    tests = [c for c, g in zip(own, glasses, strict=True) if g.kind is not GlassKind.REFERENCE]
    first = min(tests, default=0)
    return [
        max(c, first) if g.kind is GlassKind.REFERENCE else c
        for c, g in zip(own, glasses, strict=True)
    ]


def _several_flights(
    seed: int,
    glasses: Sequence[PlannedGlass],
    tests: Sequence[int],
    references: Sequence[int],
    order: DesignOrder,
) -> tuple[tuple[tuple[Row, ...], ...], tuple[str, ...]]:
    if order.assessors < 2:
        raise PlanRefused(
            f"{len(tests)} glasses need several flights, and with one assessor no glass of one "
            "flight ever meets one of another: ask a second assessor or nose fewer glasses."
        )
    made = resolvable_flights(
        len(tests),
        order.glasses_a_flight - bool(references),
        order.assessors,
        generator(seed, "orders"),
        [peat_class(glasses[i].phenol_ppm) for i in tests],
    )
    trays = [[tuple(tests[glass] for glass in row) for row in mine] for mine in made.flights]
    if references:
        trays = _with_references(trays, glasses, references, generator(seed, "references"))
    words = (made.design.sentence(), made.design.balance.sentence())
    return tuple(tuple(mine) for mine in trays), words


def _shared_out(
    seed: int,
    glasses: Sequence[PlannedGlass],
    references: Sequence[int],
    shares: Sequence[Sequence[Row]],
) -> tuple[tuple[tuple[Row, ...], ...], tuple[str, ...]]:
    """Lay the trays of a session in which not everybody gets every glass."""
    classes = [peat_class(glass.phenol_ppm) for glass in glasses]
    made = ordered_shares(
        shares, [glass.draw_id for glass in glasses], classes, generator(seed, "orders")
    )
    trays = [list(mine) for mine in made.trays]
    if references:
        trays = _with_references(trays, glasses, references, generator(seed, "references"))
    return tuple(map(tuple, trays)), made.words


def _with_references(
    trays: list[list[Row]],
    glasses: Sequence[PlannedGlass],
    references: Sequence[int],
    rng: random.Random,
) -> list[list[Row]]:
    """Put one reference into each flight; which one and where changes with the assessor."""
    used: dict[tuple[int, int], int] = {}
    joined: list[list[Row]] = []
    for mine in trays:
        drawn = shuffled(references, rng)
        flights: list[Row] = []
        for flight, (row, reference) in enumerate(zip(mine, drawn, strict=False)):
            free = shuffled(_places_for(reference, row, glasses), rng)
            place = min(free, key=lambda p: used.get((flight, p), 0))
            used[flight, place] = used.get((flight, place), 0) + 1
            flights.append((*row[:place], reference, *row[place:]))
        joined.append(flights)
    return joined


def _places_for(reference: int, row: Row, glasses: Sequence[PlannedGlass]) -> list[int]:
    *tests, own = reference_classes([glasses[i] for i in (*row, reference)])
    before = sum(peat < own for peat in tests)
    return list(range(before, before + sum(peat == own for peat in tests) + 1))
