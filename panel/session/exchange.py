"""Exchanging glasses between flights until pairs meet as evenly as they can."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import combinations
from typing import Final

from panel.session.balance import Row, spread
from panel.session.codes import shuffled

# Sized so that a whole plan is searched in under half a second.
_EXCHANGES_A_SLOT: Final = 300
_MOST_EXCHANGES: Final = 25_000
_HOTTEST: Final = 3.0
_COLDEST: Final = 0.4


class Exchanger:
    """Flights under exchange of two glasses: which glasses meet, and who comes when.

    `turns[flight]` says whether it is an assessor's first flight, second, ... from 0. The
    objective is the sum of squared concurrences over pairs and of squared counts of each
    glass in each turn. The two pull against each other: pairs alone would be a little more
    efficient (0.1 to 0.3 % for 12 to 24 glasses), but then some glass comes late for most
    people and meets tired noses, which plain means cannot take out.
    """

    def __init__(
        self, flights: Sequence[Sequence[int]], glasses: int, turns: Sequence[int] | None = None
    ) -> None:
        self.flights = [list(flight) for flight in flights]
        self.members = [set(flight) for flight in flights]
        self.turns = list(turns) if turns is not None else [0] * len(flights)
        self.meets = [[0] * glasses for _ in range(glasses)]
        self.comes = [[0] * (max(self.turns, default=0) + 1) for _ in range(glasses)]
        for flight, turn in zip(flights, self.turns, strict=True):
            for i, j in combinations(flight, 2):
                self._meet(i, j, 1)
            for glass in flight:
                self.comes[glass][turn] += 1

    def objective(self) -> tuple[int, int]:
        """Return the objective as it stands, and a floor under it."""
        pairs = [self.meets[i][j] for i, j in combinations(range(len(self.meets)), 2)]
        by_turn = list(zip(*self.comes, strict=True))
        now = sum(n * n for counts in (pairs, *by_turn) for n in counts)
        return now, sum(spread(sum(counts), len(counts)) for counts in (pairs, *by_turn))

    def change(self, a: int, x: int, b: int, y: int) -> int:
        """Change of the objective if x of flight a and y of flight b trade places.

        A glass that sits in both flights meets both before and after: it adds nothing.
        """
        with_x, with_y = self.meets[x], self.meets[y]
        total = 0
        for z in self.members[a]:
            if z != x and z not in self.members[b]:
                total += with_y[z] - with_x[z] + 1
        for z in self.members[b]:
            if z != y and z not in self.members[a]:
                total += with_x[z] - with_y[z] + 1
        early, late = self.turns[a], self.turns[b]
        if early != late:
            x_comes, y_comes = self.comes[x], self.comes[y]
            total += x_comes[late] - x_comes[early] + y_comes[early] - y_comes[late] + 2
        return 2 * total

    def trade(self, a: int, x: int, b: int, y: int) -> None:
        """Let x of flight a and y of flight b trade places."""
        for flight, leaves, comes in ((a, x, y), (b, y, x)):
            for z in self.members[flight]:
                if z != leaves:
                    self._meet(leaves, z, -1)
                    self._meet(comes, z, 1)
            self.members[flight].remove(leaves)
            self.members[flight].add(comes)
            self.flights[flight][self.flights[flight].index(leaves)] = comes
            self.comes[leaves][self.turns[flight]] -= 1
            self.comes[comes][self.turns[flight]] += 1

    def _meet(self, i: int, j: int, by: int) -> None:
        self.meets[i][j] += by
        self.meets[j][i] += by

    def anneal(self, pairs: Sequence[tuple[int, int]], rng: random.Random) -> list[Row]:
        """Exchange between the flights of `pairs`, cooling; return the best flights seen."""
        slots = sum(map(len, self.flights))
        moves = min(_MOST_EXCHANGES, _EXCHANGES_A_SLOT * slots)
        heat, cooling = _HOTTEST, math.pow(_COLDEST / _HOTTEST, 1.0 / max(1, moves))
        current, least = self.objective()
        best, best_flights = current, [tuple(flight) for flight in self.flights]
        for _ in range(moves if pairs else 0):
            if best <= least:
                break
            heat *= cooling
            a, b = pairs[int(rng.random() * len(pairs))]
            x = self.flights[a][int(rng.random() * len(self.flights[a]))]
            y = self.flights[b][int(rng.random() * len(self.flights[b]))]
            if x in self.members[b] or y in self.members[a]:
                continue
            change = self.change(a, x, b, y)
            if change <= 0 or rng.random() < math.exp(-change / heat):
                self.trade(a, x, b, y)
                current += change
                if current < best:
                    best, best_flights = current, [tuple(flight) for flight in self.flights]
        return best_flights


def split_start(
    glasses: int, sizes: Sequence[int], assessors: int, rng: random.Random
) -> list[Row]:
    """Split all glasses at random into flights of the given sizes, once an assessor."""
    start: list[Row] = []
    for _ in range(assessors):
        glass = iter(shuffled(range(glasses), rng))
        start += [tuple(next(glass) for _ in range(size)) for size in sizes]
    return start
