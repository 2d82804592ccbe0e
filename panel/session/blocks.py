"""More glasses than one flight holds: who noses which of them together.

Search: exchange two glasses between two flights, annealing on the sum of squared
concurrences (the (M,S) criterion) and of turns, best A-efficiency of four starts; then
swaps inside flights for places and neighbours. Efficiency is the harmonic mean of the canonical
efficiency factors (Kempthorne 1956). Glasses and assessors are counted from 0.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from panel.session.balance import Balance, PositionBalancer, Row
from panel.session.codes import shuffled
from panel.session.exchange import Exchanger, split_start

# Sized so that a plan is searched in about half a second on a slow laptop.
_STARTS: Final = 4
_STARTS_BEFORE_GIVING_UP: Final = 12
_MOST_SWAPS: Final = 40_000
_SWAPS_A_SLOT: Final = 300
# Two designs this close are equal: which is kept must not hang on the last binary digit.
SAME_EFFICIENCY: Final = 1e-9


class DesignError(ValueError):
    """No usable design exists for what was asked; the message says what to change."""


@dataclass(frozen=True)
class BlockDesign:
    """Flights with their glasses in serving order, and how well they compare glasses.

    `concurrences[i][j]` counts the flights that hold both glasses. `efficiency` is 1 for
    flights that all hold everything; `efficiency_bound` is what a perfectly balanced
    design of this size would reach.
    """

    glasses: int
    flights: tuple[Row, ...]
    replications: tuple[int, ...]
    concurrences: tuple[Row, ...]
    efficiency: float
    efficiency_bound: float
    balance: Balance
    block: str = "flight"

    def sentence(self) -> str:
        """Say in words how well the glasses can be compared."""
        pairs = [self.concurrences[i][j] for i, j in combinations(range(self.glasses), 2)]
        return (
            f"Each glass is nosed {_range(self.replications)} times and meets each other glass "
            f"in {_range(pairs)} {self.block}s; comparisons keep {100 * self.efficiency:.0f} % of "
            f"what one large flight would give (at most {100 * self.efficiency_bound:.0f} %)."
        )


@dataclass(frozen=True)
class FlightPlan:
    """`flights[assessor][flight]` lists glasses in serving order; everyone noses them all.

    `turn_counts[glass][flight]` counts the assessors who get the glass in that flight.
    """

    flights: tuple[tuple[Row, ...], ...]
    turn_counts: tuple[Row, ...]
    design: BlockDesign

    def sentence(self) -> str:
        """Say in words how the glasses are spread over the flights, and how they compare."""
        turns = [n for counts in self.turn_counts for n in counts]
        return (
            f"{len(self.flights[0])} flights, split differently for each assessor; each glass "
            f"comes in each flight for {_range(turns)} of {len(self.flights)} assessors. "
            f"{self.design.sentence()}"
        )


def _range(counts: Sequence[int]) -> str:
    low, high = min(counts), max(counts)
    return str(low) if low == high else f"{low} to {high}"


def is_connected(glasses: int, flights: Sequence[Sequence[int]]) -> bool:
    """Whether every glass can be compared with every other through shared flights."""
    reached, waiting = {0}, [0]
    holds = [[set(flight) for flight in flights if glass in flight] for glass in range(glasses)]
    while waiting:
        for flight in holds[waiting.pop()]:
            waiting += flight - reached
            reached |= flight
    return len(reached) == glasses


def efficiency(glasses: int, flights: Sequence[Sequence[int]]) -> tuple[float, float]:
    """Return the A-efficiency of a design and its bound.

    C = R - N K^-1 N'; e_i the nonzero eigenvalues of R^-1/2 C R^-1/2; A = (t-1) / sum 1/e_i.
    The bound is the mean of the e_i, which is t(k-1) / (k(t-1)) for flights of one size and
    is reached by balanced designs only. Raises `DesignError` when the design is not
    connected.
    """
    import numpy as np

    if not is_connected(glasses, flights):
        raise DesignError(
            "Some glasses never meet others, directly or through a third: they could not be "
            "compared. Add an assessor, make flights larger or nose fewer glasses."
        )
    if glasses == 1:
        return 1.0, 1.0
    N = np.zeros((glasses, len(flights)))
    for column, flight in enumerate(flights):
        np.add.at(N[:, column], list(flight), 1.0)
    root = np.sqrt(N.sum(axis=1))
    scaled = np.eye(glasses) - (N / N.sum(axis=0)) @ N.T / np.outer(root, root)
    factors = np.linalg.eigvalsh(scaled)[1:]  # the first is the zero of the overall mean
    return float(1.0 / np.mean(1.0 / factors)), float(np.mean(factors))


def searched(
    start: Callable[[], list[Row]],
    pairs: Sequence[tuple[int, int]],
    turns: Sequence[int],
    glasses: int,
    rng: random.Random,
    search: int = 1,
) -> list[Row]:
    """Anneal from a few starts and keep the connected design of the best efficiency.

    There are `search` times as many starts as usual. Where none is connected, the last one counts.
    """
    best: list[Row] = []
    best_efficiency = 0.0
    for attempt in range(_STARTS_BEFORE_GIVING_UP * search):
        if best and attempt >= _STARTS * search:
            break
        flights = Exchanger(start(), glasses, turns).anneal(pairs, rng)
        if not is_connected(glasses, flights):
            continue
        value, bound = efficiency(glasses, flights)
        if value > best_efficiency + SAME_EFFICIENCY:
            best, best_efficiency = flights, value
        if bound - value < SAME_EFFICIENCY:
            break
    return best or flights


def in_serving_order(
    flights: Sequence[Row], classes: Sequence[int], rng: random.Random
) -> list[Row]:
    """Order glasses inside each flight, even in places and neighbours, classes rising."""
    mixed = [sorted(shuffled(flight, rng), key=lambda glass: classes[glass]) for flight in flights]
    slots = sum(map(len, mixed))
    return PositionBalancer(mixed, classes).anneal(rng, min(_MOST_SWAPS, _SWAPS_A_SLOT * slots))


def _design(flights: Sequence[Row], classes: Sequence[int]) -> BlockDesign:
    glasses = len(classes)
    value, bound = efficiency(glasses, flights)
    meets = Exchanger(flights, glasses).meets
    return BlockDesign(
        glasses=glasses,
        flights=tuple(flights),
        replications=tuple(sum(glass in flight for flight in flights) for glass in range(glasses)),
        concurrences=tuple(map(tuple, meets)),
        efficiency=value,
        efficiency_bound=bound,
        balance=PositionBalancer(flights, classes).balance(),
    )


def measured(
    blocks: Sequence[Row], samples: Sequence[int], balance: Balance, block: str = "flight"
) -> BlockDesign:
    """Measure blocks (flights, or whole trays) in which two glasses may hold one sample.

    `samples[glass]` is any number that tells samples apart. Raises `DesignError` where blocks do
    not tie all samples together.
    """
    place = {sample: i for i, sample in enumerate(dict.fromkeys(samples[g] for g in _all(blocks)))}
    held = [tuple(place[samples[glass]] for glass in row) for row in blocks]
    value, bound = efficiency(len(place), held)
    meets = Exchanger([tuple(dict.fromkeys(row)) for row in held], len(place)).meets
    return BlockDesign(
        glasses=len(place),
        flights=tuple(held),
        replications=tuple(sum(row.count(i) for row in held) for i in range(len(place))),
        concurrences=tuple(map(tuple, meets)),
        efficiency=value,
        efficiency_bound=bound,
        balance=balance,
        block=block,
    )


def _all(flights: Sequence[Row]) -> list[int]:
    return sorted({glass for flight in flights for glass in flight})


def _checked(
    glasses: int, flight_size: int, assessors: int, classes: Sequence[int] | None
) -> tuple[int, ...]:
    if assessors < 1:
        raise DesignError(f"{assessors} assessors: a session needs at least 1.")
    if flight_size < 2:
        raise DesignError(
            f"Flights of {flight_size}: glasses are compared within a flight, so it holds at "
            "least 2."
        )
    if flight_size >= glasses:
        raise DesignError(
            f"{glasses} glasses fit in one flight of {flight_size}: serve them to everyone in one."
        )
    if classes is not None and len(classes) != glasses:
        raise DesignError(f"{len(classes)} peat classes for {glasses} glasses: give one a glass.")
    return tuple(classes) if classes is not None else (0,) * glasses


def resolvable_flights(
    glasses: int,
    flight_size: int,
    assessors: int,
    rng: random.Random,
    classes: Sequence[int] | None = None,
) -> FlightPlan:
    """Split all glasses into flights, differently for each assessor.

    As few flights as hold everything with `flight_size` at most, of sizes that differ by
    one at most. No glass hangs on one flight or one set of companions, so a flight's mood
    and a cask's character can be told apart. `classes` rise inside each flight; to keep all
    smoke out of an earlier flight, plan a flight a class instead.
    """
    by_glass = _checked(glasses, flight_size, assessors, classes)
    count = math.ceil(glasses / flight_size)
    sizes = [glasses // count + (place < glasses % count) for place in range(count)]
    own = [range(first, first + count) for first in range(0, assessors * count, count)]
    turns = list(range(count)) * assessors
    flights = searched(
        lambda: split_start(glasses, sizes, assessors, rng),
        [pair for mine in own for pair in combinations(mine, 2)],
        turns,
        glasses,
        rng,
    )
    design = _design(in_serving_order(flights, by_glass, rng), by_glass)
    return FlightPlan(
        flights=tuple(tuple(design.flights[i] for i in mine) for mine in own),
        turn_counts=tuple(map(tuple, Exchanger(flights, glasses, turns).comes)),
        design=design,
    )
