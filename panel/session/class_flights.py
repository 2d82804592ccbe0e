"""A flight for each class of smoke, so that no unpeated glass is nosed behind a smoky one."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Iterator, Sequence

from panel.session.balance import Row
from panel.session.shares import flights_of_trays

Group = frozenset[int]
"""Classes of smoke that share flights."""


def class_groups(trays: Sequence[Sequence[int]], size: int, most: int) -> list[Group]:
    """Return which classes share flights: none, unless that took a tray more than `most` flights.

    `trays` hold the class of each glass. Neighbours are put together, those that save most flights
    and else those with the fewest glasses.
    """
    groups = [frozenset({rank}) for rank in sorted({rank for tray in trays for rank in tray})]
    while len(groups) > 1 and flights_by_class(trays, groups, size) > most:
        groups = min(
            _joined(groups),
            key=lambda them: (flights_by_class(trays, them, size), _largest(trays, them)),
        )
    return groups


def flights_by_class(trays: Sequence[Sequence[int]], groups: Sequence[Group], size: int) -> int:
    """Return how many flights the tray with the most takes."""
    return max(
        (sum(math.ceil(sum(r in g for r in tray) / size) for g in groups) for tray in trays),
        default=0,
    )


def _joined(groups: Sequence[Group]) -> Iterator[list[Group]]:
    for i in range(len(groups) - 1):
        yield [*groups[:i], groups[i] | groups[i + 1], *groups[i + 2 :]]


def _largest(trays: Sequence[Sequence[int]], groups: Sequence[Group]) -> int:
    count = Counter(rank for tray in trays for rank in tray)
    return max(sum(count[rank] for rank in group) for group in groups)


def split_by_class(
    trays: Sequence[Sequence[int]],
    ranks: Sequence[int],
    size: int,
    most: int,
    rng: random.Random,
    search: int = 1,
) -> list[list[Row]]:
    """Split every tray into flights by class of smoke, the least smoky first.

    `ranks[glass]` is the class of a glass; a class that is too large for one flight takes several.
    """
    split: list[list[Row]] = [[] for _ in trays]
    for group in class_groups([[ranks[glass] for glass in tray] for tray in trays], size, most):
        own = [[glass for glass in tray if ranks[glass] in group] for tray in trays]
        more = flights_of_trays(own, len(ranks), size, rng, search)
        split = [[*mine, *others] for mine, others in zip(split, more, strict=True)]
    return split
