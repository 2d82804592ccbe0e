"""What each limit costs: the same question without it."""

from __future__ import annotations

from dataclasses import dataclass

from .eligible import eligible_casks
from .limits import LimitKey, LimitKind, limit_keys
from .mixture import Mixture
from .task import Task
from .tighten import KAPPAS, Tightened, tighten

_UNPRICED = {LimitKind.QUANTITY}


@dataclass(frozen=True)
class Price:
    """What one limit costs.

    Attributes
    ----------
    casks_barred
        Casks that may not go in because of it.
    probability_cost
        By how much the chance of all lines within tolerance would rise without it. A little
        below zero means nothing: both searches stop at a time.
    casks_saved
        How many casks fewer the vatting would be made of without it; negative for more.
    excess_without
        By what share the vatting without it is over the quantity; a whole cask is seldom just
        what was asked.
    """

    key: LimitKey
    casks_barred: int
    probability_cost: float
    casks_saved: int
    excess_without: float = 0.0


def price_limits(task: Task, chosen: Tightened, *, seconds_each: float = 1.5) -> tuple[Price, ...]:
    """Solve the question again without each limit, the dearest first.

    Quantity is what is asked, and holds, owners, reservations and the legal age are nobody's
    to trade: they have no price.

    Parameters
    ----------
    task, chosen
        The question and its answer.
    seconds_each
        Time for each limit.
    """
    if chosen.mixture is None:
        return ()
    prices = [
        _price(task, chosen.mixture, key, seconds_each)
        for key in limit_keys(task.limits)
        if key.kind not in _UNPRICED
    ]
    found = [price for price in prices if price is not None]
    return tuple(sorted(found, key=lambda price: -price.probability_cost))


def _price(task: Task, chosen: Mixture, key: LimitKey, seconds: float) -> Price | None:
    lifted = frozenset({key})
    without = tighten(task, kappas=KAPPAS, seconds=seconds, lifted=lifted).mixture
    if without is None:
        return None
    eligible = len(eligible_casks(task.stock, task.descriptors, task.limits).rows)
    more = len(eligible_casks(task.stock, task.descriptors, task.limits, lifted).rows)
    return Price(
        key=key,
        casks_barred=more - eligible,
        probability_cost=without.probability - chosen.probability,
        casks_saved=len(chosen.parts) - len(without.parts),
        excess_without=without.poured.final_litres / task.limits.final_litres - 1.0,
    )
