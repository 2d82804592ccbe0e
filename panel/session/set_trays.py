"""The trays of sets: in which order the glasses of each stand, and which they are.

Each order of the products stands as often as the others, over people and over sets, so that a place
cannot be taken for a product: two orders of a pair, six of fours and of threes with an odd one;
beside a marked reference two for each product that is one.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import TYPE_CHECKING

from panel.errors import PlanRefused
from panel.kinds import GlassKind, Task
from panel.session.balance import PositionBalancer, Row
from panel.session.codes import CodesError, CodeSharing, generator, shuffled
from panel.session.design import Design
from panel.session.design_figures import of_one_set
from panel.session.orders import serving_orders
from panel.session.tray_codes import codes_of_trays

if TYPE_CHECKING:
    from panel.session.blueprint import Blueprint


@dataclass(frozen=True, order=True)
class Spot:
    """One glass of an order: of which product, the how many-eth of it, or the marked one."""

    product: int
    glass: int = 0
    marked: bool = False


Order = tuple[Spot, ...]
Pools = Mapping[tuple[int, bool], Sequence[int]]
"""Places of the glasses of each product; apart from them those that are marked as reference."""


def design_sets(plan: Blueprint) -> Design:
    """Return trays of sets.

    Raises
    ------
    PlanRefused
        There are too few codes.
    """
    pools, of_each = _pools(plan), plan.session.kind.facts.of_each
    n_sets, people = len(pools[0, False]) // of_each, plan.order.assessors
    orders = _orders_dealt(plan, pools, n_sets, people)

    def glass(spot: Spot, number: int) -> int:
        of_set = 1 if spot.marked else of_each
        return pools[spot.product, spot.marked][number * of_set + spot.glass]

    trays = tuple(
        tuple(tuple(glass(spot, n) for spot in orders[n][who]) for n in range(n_sets))
        for who in range(people)
    )
    every = [order for each in orders for order in each]
    figures = of_one_set(_balancer(every).balance())
    codes = _codes(plan, trays)
    return Design(plan.glasses, trays, codes, None, (_even_words(plan, every),), figures)


def _pools(plan: Blueprint) -> Pools:
    draws = list(dict.fromkeys(glass.draw_id for glass in plan.glasses))
    pools: dict[tuple[int, bool], list[int]] = {}
    for place, glass in enumerate(plan.glasses):
        key = (draws.index(glass.draw_id), glass.kind is GlassKind.REFERENCE)
        pools.setdefault(key, []).append(place)
    return pools


def _codes(plan: Blueprint, trays: Sequence[Sequence[Row]]) -> tuple[tuple[str, ...], ...]:
    """Draw codes; a glass that stands on no tray has none."""
    own = plan.order.codes_per_assessor
    sharing = CodeSharing.EACH_ASSESSOR if own else CodeSharing.ALL_ASSESSORS
    drawn = generator(plan.seed, "codes")
    try:
        codes = codes_of_trays(trays, len(plan.glasses), None, drawn, plan.order.avoid, sharing)
    except CodesError as error:
        raise PlanRefused(str(error)) from error
    stands = {glass for tray in trays for row in tray for glass in row}
    return tuple(
        tuple(code if glass in stands else "" for glass, code in enumerate(mine)) for mine in codes
    )


# ---------------------------------------------------------------------- orders


def _orders_dealt(plan: Blueprint, pools: Pools, n_sets: int, people: int) -> list[list[Order]]:
    """Return by set and assessor in which order its glasses stand."""
    drawn = generator(plan.seed, "orders")
    if plan.session.kind.facts.task is Task.RANK:
        ranked = (serving_orders(len(pools), people, drawn).orders for _ in range(n_sets))
        return [[tuple(map(Spot, row)) for row in rows] for rows in ranked]
    return _dealt(_orders_of_two(plan, pools), n_sets, people, drawn)


def _dealt(
    orders: Sequence[Order], n_sets: int, people: int, drawn: random.Random
) -> list[list[Order]]:
    """Deal orders to people, set by set, each as often as can be."""
    used = [0] * len(orders)
    found: list[list[Order]] = []
    for _ in range(n_sets):
        whole, rest = divmod(people, len(orders))
        fewest = sorted(shuffled(range(len(orders)), drawn), key=lambda i: used[i])
        mine = [*list(range(len(orders))) * whole, *fewest[:rest]]
        for i in mine:
            used[i] += 1
        found.append([orders[i] for i in shuffled(mine, drawn)])
    return found


def _orders_of_two(plan: Blueprint, pools: Pools) -> list[Order]:
    """Return every order of two products that a set of the kind may have."""
    facts = plan.session.kind.facts
    if facts.task is Task.ODD:
        return [*_orders_of((0, 0, 1)), *_orders_of((0, 1, 1))]
    plain = _orders_of((0,) * facts.of_each + (1,) * facts.of_each)
    if not facts.marks_reference:
        return plain
    marked = [Spot(product, marked=True) for product, is_marked in sorted(pools) if is_marked]
    return [(first, *order) for first in marked for order in plain]


def _orders_of(products: Iterable[int]) -> list[Order]:
    """Return every order of some glasses, of which those of one product are not told apart."""
    return [
        tuple(Spot(product, row[:place].count(product)) for place, product in enumerate(row))
        for row in dict.fromkeys(permutations(products))
    ]


# ---------------------------------------------------------------------- how even they are


def _balancer(every: Sequence[Order]) -> PositionBalancer:
    """Count places and neighbours; what is marked stands first, and is a class of its own."""
    spots = sorted({spot for order in every for spot in order})
    number = {spot: i for i, spot in enumerate(spots)}
    rows = [[number[spot] for spot in order] for order in every]
    with_marked = any(spot.marked for spot in spots)
    return PositionBalancer(rows, [int(with_marked and not spot.marked) for spot in spots])


def _even_words(plan: Blueprint, every: Sequence[Order]) -> str:
    """Say how often each product stands where; by number alone, so that it tells no product."""
    task, anew = plan.session.kind.facts.task, "every set is drawn anew"
    products = sorted({spot.product for order in every for spot in order})
    if task is Task.ODD:
        odd = [_odd_place(order) for order in every]
        who = _times(
            [sum(o[at].product == p for o, at in zip(every, odd, strict=True)) for p in products]
        )
        where = _times([odd.count(place) for place in range(len(every[0]))])
        return (
            f"Each product is the odd one in {who} of {len(every)} sets, and the odd one stands in "
            f"each place {where} times; {anew}."
        )
    first = _times([sum(order[0].product == product for order in every) for product in products])
    if task is not Task.MATCH:
        return f"Each product stands first in {first} of {len(every)} sets; {anew}."
    near = sum(order[1].product == order[0].product for order in every)
    one = len({order[0].product for order in every}) == 1
    which = "One product is the reference in all" if one else "Each is the reference in"
    times = f"{len(every)} sets" if one else f"{first} of {len(every)} sets"
    return f"{which} {times}, and its like is the first of the others in {near}; {anew}."


def _odd_place(order: Order) -> int:
    of_each = [sum(spot.product == other.product for other in order) for spot in order]
    return of_each.index(1)


def _times(counts: Sequence[int]) -> str:
    low, high = min(counts), max(counts)
    return str(low) if low == high else f"{low} to {high}"
