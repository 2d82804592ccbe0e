"""From secret bits and a list of glasses to codes and serving orders: pure, no database.

The glasses are known here by their places in the list only. Nothing but their peat class reaches
orders and codes, so that two sessions that differ only in which draw is which get the same trays.
"""

from __future__ import annotations

import math
import random
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from panel.errors import PlanRefused
from panel.kinds import GlassKind, PeatOrder
from panel.session.balance import Row
from panel.session.blocks import DesignError, resolvable_flights
from panel.session.codes import CodesError, CodeSharing, generator, shuffled
from panel.session.design_figures import DesignFigures, of_blocks, of_one_flight
from panel.session.orders import peat_class, serving_orders
from panel.session.shares import OrderedShares, ordered_shares
from panel.session.tray_codes import codes_of_trays

TOLD_APART = (GlassKind.TEST, GlassKind.TRIAL, GlassKind.MARKET)
"""Glasses that are there to be told apart."""
BEHIND_SMOKE = 99
"""The rank of a glass that is nosed after the smokiest one."""


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
    peat: PeatOrder = PeatOrder.RISING
    last_from: int | None = None
    """Glasses of a draw from this replicate on stand behind all smoke; None: none does."""

    def ranks(self, glasses: Sequence[PlannedGlass]) -> list[int]:
        """Return by glass what rises along a flight; glasses of one rank change places freely."""
        ranks = [
            0 if self.peat is PeatOrder.BALANCED else peat_class(g.phenol_ppm) for g in glasses
        ]
        return [
            BEHIND_SMOKE
            if self.last_from is not None and g.replicate >= self.last_from and g.kind in TOLD_APART
            else rank
            for g, rank in zip(glasses, ranks, strict=True)
        ]


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
    figures: DesignFigures | None

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
        laid = _trays(seed, glasses, order)
        codes = codes_of_trays(
            laid.trays,
            len(glasses),
            warm_up,
            generator(seed, "codes"),
            order.avoid,
            CodeSharing.EACH_ASSESSOR if order.codes_per_assessor else CodeSharing.ALL_ASSESSORS,
        )
    except (DesignError, CodesError) as error:
        raise PlanRefused(str(error)) from error
    return Design(tuple(glasses), laid.trays, codes, warm_up, laid.words, laid.figures)


def _trays(seed: int, glasses: Sequence[PlannedGlass], order: DesignOrder) -> OrderedShares:
    tests = _of_kind(glasses, TOLD_APART)
    references = _of_kind(glasses, {GlassKind.REFERENCE})
    if order.shares:
        return _shared_out(seed, glasses, references, order)
    if len(tests) + len(references) <= order.glasses_a_flight:
        return _one_flight(seed, glasses, [*tests, *references], order)
    return _several_flights(seed, glasses, tests, references, order)


def _of_kind(glasses: Sequence[PlannedGlass], kinds: Collection[GlassKind]) -> list[int]:
    return [i for i, glass in enumerate(glasses) if glass.kind in kinds]


def _one_flight(
    seed: int, glasses: Sequence[PlannedGlass], served: Sequence[int], order: DesignOrder
) -> OrderedShares:
    ranks = order.ranks(glasses)
    classes = reference_classes([glasses[i] for i in served], [ranks[i] for i in served])
    made = serving_orders(len(served), order.assessors, generator(seed, "orders"), classes)
    trays = tuple((tuple(served[glass] for glass in row),) for row in made.orders)
    return OrderedShares(trays, (made.balance.sentence(),), of_one_flight(made.balance))


def reference_classes(glasses: Sequence[PlannedGlass], own: Sequence[int]) -> list[int]:
    """Return the rank of each glass; a reference joins the first that tests have.

    With a rank of its own it would stand first on every tray, and be known by that.
    """
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
) -> OrderedShares:
    if order.assessors < 2:
        raise PlanRefused(
            f"{len(tests)} glasses need several flights, and with one assessor no glass of one "
            "flight ever meets one of another: ask a second assessor or nose fewer glasses."
        )
    ranks = order.ranks(glasses)
    made = resolvable_flights(
        len(tests),
        order.glasses_a_flight - bool(references),
        order.assessors,
        generator(seed, "orders"),
        [ranks[i] for i in tests],
    )
    trays = [[tuple(tests[glass] for glass in row) for row in mine] for mine in made.flights]
    if references:
        drawn = generator(seed, "references")
        trays = _with_references(trays, glasses, references, ranks, drawn)
    words = (made.design.sentence(), made.design.balance.sentence())
    return OrderedShares(tuple(map(tuple, trays)), words, of_blocks(made.design))


def _shared_out(
    seed: int,
    glasses: Sequence[PlannedGlass],
    references: Sequence[int],
    order: DesignOrder,
) -> OrderedShares:
    """Lay the trays of a session in which not everybody gets every glass."""
    ranks, samples = order.ranks(glasses), [glass.draw_id for glass in glasses]
    made = ordered_shares(order.shares, samples, ranks, generator(seed, "orders"))
    trays = [list(mine) for mine in made.trays]
    if references:
        drawn = generator(seed, "references")
        trays = _with_references(trays, glasses, references, ranks, drawn)
    return replace(made, trays=tuple(map(tuple, trays)))


def _with_references(
    trays: list[list[Row]],
    glasses: Sequence[PlannedGlass],
    references: Sequence[int],
    ranks: Sequence[int],
    rng: random.Random,
) -> list[list[Row]]:
    """Put one reference into each flight; which one and where changes with the assessor."""
    used: dict[tuple[int, int], int] = {}
    joined: list[list[Row]] = []
    for mine in trays:
        drawn = shuffled(references, rng)
        flights: list[Row] = []
        for flight, (row, reference) in enumerate(zip(mine, drawn, strict=False)):
            free = shuffled(_places_for(reference, row, glasses, ranks), rng)
            place = min(free, key=lambda p: used.get((flight, p), 0))
            used[flight, place] = used.get((flight, place), 0) + 1
            flights.append((*row[:place], reference, *row[place:]))
        joined.append(flights)
    return joined


def _places_for(
    reference: int, row: Row, glasses: Sequence[PlannedGlass], ranks: Sequence[int]
) -> list[int]:
    there = (*row, reference)
    *tests, own = reference_classes([glasses[i] for i in there], [ranks[i] for i in there])
    before = sum(peat < own for peat in tests)
    return list(range(before, before + sum(peat == own for peat in tests) + 1))
