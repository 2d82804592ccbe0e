"""How even a design came out, in figures that tell neither a code nor what is poured twice."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import combinations

from panel.session.balance import Balance, Row
from panel.session.blocks import BlockDesign


@dataclass(frozen=True)
class DesignFigures:
    """`efficiency` is what comparisons keep of one large flight, at most `efficiency_bound`.

    `nosed` and `meets`: how often samples are nosed and two of them meet within a `block` (flight
    or tray), fewest and most. `position_counts` has a row a glass, in no order that tells which;
    `neighbour_counts[n]` says how many ordered pairs of glasses follow each other n times.
    """

    block: str
    efficiency: float
    efficiency_bound: float
    nosed: tuple[int, int]
    meets: tuple[int, int]
    position_counts: tuple[Row, ...]
    neighbour_counts: Row
    unevenness: int
    least_unevenness: int

    json_keys = (
        *("block", "efficiency", "efficiency_bound", "nosed", "meets", "position_counts"),
        *("neighbour_counts", "unevenness", "least_unevenness"),
    )


def of_one_flight(balance: Balance) -> DesignFigures:
    """Return the figures where everybody gets everything in one flight."""
    always = (balance.servings, balance.servings)
    return _figures("flight", (1.0, 1.0), always, always, balance)


def of_one_set(balance: Balance) -> DesignFigures:
    """Return the figures where everybody gets everything in sets that are answered as one."""
    always = (balance.servings, balance.servings)
    return _figures("set", (1.0, 1.0), always, always, balance)


def of_blocks(design: BlockDesign) -> DesignFigures:
    """Return the figures where glasses are compared through flights or trays that overlap."""
    pairs = [design.concurrences[i][j] for i, j in combinations(range(design.glasses), 2)]
    return _figures(
        design.block,
        (design.efficiency, design.efficiency_bound),
        (min(design.replications), max(design.replications)),
        (min(pairs, default=0), max(pairs, default=0)),
        design.balance,
    )


def _figures(
    block: str,
    efficiency: tuple[float, float],
    nosed: tuple[int, int],
    meets: tuple[int, int],
    balance: Balance,
) -> DesignFigures:
    times = Counter(
        n for i, row in enumerate(balance.neighbour_counts) for j, n in enumerate(row) if i != j
    )
    served = [row for row in balance.position_counts if any(row)]
    return DesignFigures(
        block=block,
        efficiency=efficiency[0],
        efficiency_bound=efficiency[1],
        nosed=nosed,
        meets=meets,
        position_counts=tuple(sorted(served)),
        neighbour_counts=tuple(times[n] for n in range(max(times, default=0) + 1)),
        unevenness=balance.unevenness,
        least_unevenness=balance.least_unevenness,
    )
