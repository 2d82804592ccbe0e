"""A tray for who comes when the others are laid: the glasses of one, in an order of its own.

Pure: a glass is known by what the key says of it, never shown to anybody.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import Final, TypeVar

from panel.session.codes import shuffled

_TRIES: Final = 300

Glass = TypeVar("Glass")
Flights = Mapping[int, Sequence[Glass]]


def tray_to_repeat(trays: Sequence[Flights[Glass]], rng: random.Random) -> Flights[Glass]:
    """Return the tray whose glasses stand on fewest trays: they need another nose most."""
    times = Counter(glass for tray in trays for flight in tray.values() for glass in flight)

    def seen(tray: Flights[Glass]) -> float:
        glasses = [glass for flight in tray.values() for glass in flight]
        return sum(times[glass] for glass in glasses) / max(1, len(glasses))

    return min(shuffled(trays, rng), key=seen)


def fresh_order(
    flight: Sequence[Glass],
    laid: Sequence[Sequence[Glass]],
    rank: Callable[[Sequence[Glass]], Sequence[int]],
    rng: random.Random,
) -> list[Glass]:
    """Order a flight's glasses so that places and neighbours even out beside the trays laid.

    `rank` says of glasses in a row what rises along it.
    """
    places = Counter((glass, place) for row in laid for place, glass in enumerate(row))
    follows = Counter(pair for row in laid for pair in pairwise(row))
    rising = dict(zip(flight, rank(flight), strict=True))

    def cost(row: Sequence[Glass]) -> int:
        standing = sum(places[glass, place] for place, glass in enumerate(row))
        return standing + sum(follows[pair] for pair in pairwise(row))

    tries = (sorted(shuffled(flight, rng), key=rising.__getitem__) for _ in range(_TRIES))
    return min(tries, key=cost)
