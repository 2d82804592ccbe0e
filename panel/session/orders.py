"""Who gets which glass when: Williams squares, and what is left over by annealing.

Sources: Williams EJ (1949), Australian Journal of Scientific Research A 2:149-168, for the
squares; Kunert and Sailer for randomising labels and rows, which keeps the neighbours.
Glasses and assessors are counted from 0.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from panel.figures import in_digits
from panel.session.balance import Balance, PositionBalancer, Row
from panel.session.codes import shuffled

# Malt phenols in ppm at which a new class begins: light, medium, heavy (house defaults).
PEAT_CLASS_STARTS_PPM: Final = (3.0, 15.0, 30.0)

_MOVES_A_SLOT: Final = 200
_STARTS: Final = 4
_JOIN_TRIES_AN_ASSESSOR: Final = 20


class OrdersError(ValueError):
    """The orders that were asked for cannot be made; the message says what to change."""


@dataclass(frozen=True)
class ServingOrders:
    """`orders[assessor]` lists the glasses in the order they are nosed."""

    orders: tuple[Row, ...]
    balance: Balance


def williams(n: int) -> list[Row]:
    """Return the Williams square for `n` glasses: n rows when n is even, 2n when odd.

    First row 0, 1, n-1, 2, n-2, ...; the others add 1 to each, modulo n; for an odd n all
    rows once more, reversed. Each glass then stands in each place and follows each other
    glass equally often: once (n even) or twice (n odd).
    """
    if n < 1:
        raise OrdersError(f"{n} glasses: an order needs at least 1.")
    first = [(step + 1) // 2 if step % 2 else (n - step // 2) % n for step in range(n)]
    rows = [tuple((glass + shift) % n for glass in first) for shift in range(n)]
    return rows + [row[::-1] for row in rows] if n % 2 and n > 1 else rows


def peat_class(malt_phenol_ppm: float, starts_ppm: Sequence[float] = PEAT_CLASS_STARTS_PPM) -> int:
    """Class of a glass by the phenols of its malt: 0 for unpeated, rising with smoke."""
    if not (math.isfinite(malt_phenol_ppm) and malt_phenol_ppm >= 0):
        raise OrdersError(
            f"Malt phenols are {in_digits(malt_phenol_ppm, 'g')} ppm, but cannot be below 0."
        )
    return sum(malt_phenol_ppm > start for start in starts_ppm)


def _remainder(square: Sequence[Row], count: int, rng: random.Random) -> list[Row]:
    """Pick rows of a square for what whole squares leave over, then even them out.

    Rows of an even square are at the floor as they are; odd ones are made of two halves
    and gain from swaps.
    """
    alike = [0] * len(square[0])
    tries: list[list[Row]] = []
    for _ in range(_STARTS if count else 0):
        rows = PositionBalancer(shuffled(square, rng)[:count], alike)
        tries.append(rows.anneal(rng, _MOVES_A_SLOT * count * len(alike)))
        if PositionBalancer(tries[-1], alike).unevenness() == rows.least_unevenness():
            break
    return min(tries, key=lambda t: PositionBalancer(t, alike).unevenness(), default=[])


def _relabelled(rows: Sequence[Row], names: Sequence[int], rng: random.Random) -> list[Row]:
    names = shuffled(names, rng)
    return [tuple(names[glass] for glass in row) for row in rows]


def _rows_of_class(glasses: Sequence[int], assessors: int, rng: random.Random) -> list[Row]:
    """Give each assessor a row over the glasses of one class, labels and rows at random."""
    square = williams(len(glasses))
    whole, left_over = divmod(assessors, len(square))
    rows: list[Row] = []
    for _ in range(whole):
        rows += _relabelled(square, glasses, rng)
    rows += _relabelled(_remainder(square, left_over, rng), glasses, rng)
    return shuffled(rows, rng)


def _joined(before: Sequence[Row], after: Sequence[Row], rng: random.Random) -> list[Row]:
    """Put a class behind another so that the steps between them are even too."""
    rows = list(after)
    if not before[0]:
        return rows
    steps = Counter((one[-1], two[0]) for one, two in zip(before, rows, strict=True))
    for _ in range(_JOIN_TRIES_AN_ASSESSOR * len(rows)):
        a, b = int(rng.random() * len(rows)), int(rng.random() * len(rows))
        old = Counter([(before[a][-1], rows[a][0]), (before[b][-1], rows[b][0])])
        new = Counter([(before[a][-1], rows[b][0]), (before[b][-1], rows[a][0])])
        touched = old.keys() | new.keys()
        change = sum((steps[s] - old[s] + new[s]) ** 2 - steps[s] ** 2 for s in touched)
        if a != b and change <= 0:
            rows[a], rows[b] = rows[b], rows[a]
            steps.update(new)
            steps.subtract(old)
    return [one + two for one, two in zip(before, rows, strict=True)]


def serving_orders(
    k: int, assessors: int, rng: random.Random, classes: Sequence[int] | None = None
) -> ServingOrders:
    """Give every assessor all `k` glasses of a flight, each in an order of their own.

    Whole Williams squares first; the rest of the assessors get rows chosen by annealing.
    With `classes` (one number a glass, higher is smokier; see `peat_class`) the squares are
    laid inside each class and classes rise along the tray, so that no glass is nosed after
    a smokier one. Place is then bound up with class, and the balance says so.
    """
    if k < 1 or assessors < 1:
        raise OrdersError(f"{k} glasses for {assessors} assessors: both must be at least 1.")
    classes = tuple(classes) if classes is not None else (0,) * k
    if len(classes) != k:
        raise OrdersError(f"{len(classes)} peat classes for {k} glasses: give one a glass.")
    orders: list[Row] = [()] * assessors
    for one_class in sorted(set(classes)):
        glasses = [glass for glass in range(k) if classes[glass] == one_class]
        orders = _joined(orders, _rows_of_class(glasses, assessors, rng), rng)
    return ServingOrders(tuple(orders), PositionBalancer(orders, classes).balance())
