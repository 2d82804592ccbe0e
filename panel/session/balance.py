"""Counting places and neighbours in serving orders, and evening them out by swaps."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Final

from panel.figures import in_digits

_HOTTEST: Final = 3.0
_COLDEST: Final = 0.3

Row = tuple[int, ...]


@dataclass(frozen=True)
class Balance:
    """How even a set of orders came out.

    `position_counts[glass][position]`, `neighbour_counts[glass][next_glass]`; `unevenness`
    is the sum of their squares, `least_unevenness` a floor that no orders can pass.
    """

    glasses: int
    servings: int
    position_counts: tuple[Row, ...]
    neighbour_counts: tuple[Row, ...]
    unevenness: int
    least_unevenness: int
    by_class: bool

    @property
    def excess_percent(self) -> float:
        """How far the orders are above the floor, in percent."""
        if self.least_unevenness == 0:
            return 0.0
        return 100.0 * (self.unevenness / self.least_unevenness - 1.0)

    def sentence(self) -> str:
        """Say in words how even the orders are."""
        if self.by_class:
            return (
                "Smokier glasses come later on every tray, so place and peat cannot be told apart; "
                f"inside each class, {self._distance()}."
            )
        places = _times([n for row in self.position_counts for n in row])
        rows = enumerate(self.neighbour_counts)
        follows = _times([n for i, row in rows for j, n in enumerate(row) if i != j])
        return (
            f"Each glass stands in each place {places} and follows each other glass {follows}: "
            f"{self._distance()}."
        )

    def _distance(self) -> str:
        if self.unevenness == self.least_unevenness:
            return "places and neighbours are as even as this number of assessors allows"
        return (
            f"places and neighbours are {in_digits(self.excess_percent, '.1f')} % above a "
            "floor that need not "
            "be reachable"
        )


def _times(counts: Sequence[int]) -> str:
    low, high = min(counts, default=0), max(counts, default=0)
    if low == high:
        return "once" if low == 1 else f"{low} times"
    return f"{low} to {high} times"


class PositionBalancer:
    """Counts places and neighbours over rows, and evens them out by swaps inside rows.

    The objective is sum P_ip^2 + sum M_ij^2: P how often glass i stands in place p, M how
    often glass j comes straight after i. A swap is only tried inside a stretch of a row
    that is of one peat class, so that classes stay in their order.
    """

    def __init__(self, rows: Sequence[Sequence[int]], classes: Sequence[int]) -> None:
        self.rows = [list(row) for row in rows]
        self.classes = classes
        glasses = len(classes)
        places = max((len(row) for row in rows), default=0)
        self.positions = [[0] * places for _ in range(glasses)]
        self.neighbours = [[0] * glasses for _ in range(glasses)]
        for row in self.rows:
            for place, glass in enumerate(row):
                self.positions[glass][place] += 1
            for one, following in pairwise(row):
                self.neighbours[one][following] += 1

    def unevenness(self) -> int:
        """Return sum P^2 + sum M^2 as it stands."""
        return sum(n * n for row in (*self.positions, *self.neighbours) for n in row)

    def least_unevenness(self) -> int:
        """Return a floor: every count spread as evenly as whole numbers allow.

        Places: each glass over the places its class takes up in the rows it stands in.
        Neighbours: the steps from one class to another over the pairs there are.
        """
        reach: list[set[int]] = [set() for _ in self.classes]
        for row in self.rows:
            by_class = [self.classes[glass] for glass in row]
            for glass in row:
                reach[glass] |= {p for p, c in enumerate(by_class) if c == self.classes[glass]}
        least = sum(spread(sum(n), len(reach[g])) for g, n in enumerate(self.positions))
        size = Counter(self.classes)
        steps: Counter[tuple[int, int]] = Counter()
        for row in self.rows:
            steps.update(pairwise(self.classes[glass] for glass in row))
        for (one, following), count in steps.items():
            pairs = size[one] * (size[following] - (one == following))
            least += spread(count, pairs)
        return least

    def balance(self) -> Balance:
        """Return what was counted."""
        return Balance(
            glasses=len(self.classes),
            servings=len(self.rows),
            position_counts=tuple(map(tuple, self.positions)),
            neighbour_counts=tuple(map(tuple, self.neighbours)),
            unevenness=self.unevenness(),
            least_unevenness=self.least_unevenness(),
            by_class=len(set(self.classes)) > 1,
        )

    def _swap(self, r: int, p: int, q: int) -> int:
        """Swap two places of a row and return by how much the objective changed."""
        row, place, follow = self.rows[r], self.positions, self.neighbours
        starts = {start for start in (p - 1, p, q - 1, q) if 0 <= start < len(row) - 1}
        change = 0
        for start in starts:
            counts, j = follow[row[start]], row[start + 1]
            counts[j] -= 1
            change -= 2 * counts[j] + 1
        for glass, old, new in ((row[p], p, q), (row[q], q, p)):
            place[glass][old] -= 1
            change += 2 * (place[glass][new] - place[glass][old])
            place[glass][new] += 1
        row[p], row[q] = row[q], row[p]
        for start in starts:
            counts, j = follow[row[start]], row[start + 1]
            change += 2 * counts[j] + 1
            counts[j] += 1
        return change

    def anneal(self, rng: random.Random, moves: int) -> list[Row]:
        """Try `moves` swaps, cooling, and return the best rows seen; stop at the floor."""
        swaps = [
            (r, p, q)
            for r, row in enumerate(self.rows)
            for p, q in combinations(range(len(row)), 2)
            if self.classes[row[p]] == self.classes[row[q]]
        ]
        current = best = self.unevenness()
        best_rows = [tuple(row) for row in self.rows]
        floor = self.least_unevenness()
        heat, cooling = _HOTTEST, math.pow(_COLDEST / _HOTTEST, 1.0 / max(1, moves))
        for _ in range(moves if swaps else 0):
            if best <= floor:
                break
            heat *= cooling
            swap = swaps[int(rng.random() * len(swaps))]
            change = self._swap(*swap)
            if change > 0 and rng.random() >= math.exp(-change / heat):
                self._swap(*swap)
                continue
            current += change
            if current < best:
                best, best_rows = current, [tuple(row) for row in self.rows]
        return best_rows


def spread(total: int, cells: int) -> int:
    """Least sum of squares of `cells` whole numbers with that total."""
    if cells == 0:
        return 0
    low, extra = divmod(total, cells)
    return (cells - extra) * low * low + extra * (low + 1) ** 2
