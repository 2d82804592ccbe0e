"""What each limit costs: the same question without it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .chance import Stream
from .dive import keeps_limits
from .eligible import eligible_casks
from .limits import LimitKey, LimitKind, limit_keys
from .mixture import Mixture, surely_fills
from .model import build_model
from .solve import Found
from .task import Task
from .tighten import KAPPAS, Tightened, chance_of, tighten

_UNPRICED = {LimitKind.QUANTITY}


@dataclass(frozen=True, eq=False)
class Without:
    """What was found without one limit."""

    key: LimitKey
    tightened: Tightened


@dataclass(frozen=True)
class Price:
    """What one limit costs.

    Attributes
    ----------
    casks_barred
        Casks that may not go in because of it.
    probability_cost
        By how much the chance of all lines within tolerance would rise without it; what was
        chosen with it is at hand without it too, so never below zero.
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


def search_without(task: Task) -> tuple[Without, ...]:
    """Solve the question again without each limit.

    Quantity is what is asked, and holds, owners, reservations and the legal age are nobody's
    to trade: they have no price.

    Parameters
    ----------
    task
        The question.
    """
    keys = [key for key in limit_keys(task.limits) if key.kind not in _UNPRICED]
    return tuple(
        Without(key, tighten(task, kappas=KAPPAS, lifted=frozenset({key}))) for key in keys
    )


def surer_within(task: Task, chosen: Tightened, searched: Sequence[Without]) -> Tightened:
    """Return the surest that keeps every limit, of the answer and what was found without one.

    A search without a limit that does not bind is the same question tried in another way, and
    may find better. Which is surer is told by the simulated vattings that choose.
    """
    best, chance = chosen, chance_of(task, chosen.found, Stream.CHOOSING) or 0.0
    for each in searched:
        found = _within(task, each.tightened)
        other = chance_of(task, found, Stream.CHOOSING) if found else None
        if found is None or other is None or other <= chance:
            continue
        best, chance = replace(each.tightened, found=found, first=chosen.first), other
    return best


def _within(task: Task, tightened: Tightened) -> Found | None:
    """Return what was found as fractions of the whole question; None where it breaks a limit."""
    mixture, found = tightened.mixture, tightened.found
    if mixture is None or found.fractions is None or not surely_fills(mixture, task.limits):
        return None
    model = build_model(task, tightened.band)
    column = {int(row): at for at, row in enumerate(model.rows)}
    used = np.flatnonzero(found.fractions > 0.0)
    rows = [int(row) for row in found.model.rows[used]]
    if not all(row in column for row in rows):
        return None
    fractions = np.zeros(model.n)
    fractions[[column[row] for row in rows]] = found.fractions[used]
    return (
        replace(found, model=model, fractions=fractions) if keeps_limits(model, fractions) else None
    )


def price_limits(task: Task, chosen: Tightened, searched: Sequence[Without]) -> tuple[Price, ...]:
    """Return what each limit costs beside the answer, the dearest first.

    Parameters
    ----------
    task, chosen
        The question and its answer.
    searched
        What was found without each limit.
    """
    here = chosen.mixture
    if here is None:
        return ()
    prices = [_price(task, here, each.key, each.tightened.mixture) for each in searched]
    return tuple(sorted(prices, key=lambda price: -price.probability_cost))


def _price(task: Task, here: Mixture, key: LimitKey, found: Mixture | None) -> Price:
    surer = found is not None and found.probability > here.probability
    without = found if found is not None and surer else here
    eligible = len(eligible_casks(task.stock, task.descriptors, task.limits).rows)
    more = len(eligible_casks(task.stock, task.descriptors, task.limits, frozenset({key})).rows)
    return Price(
        key=key,
        casks_barred=more - eligible,
        probability_cost=without.probability - here.probability,
        casks_saved=len(here.parts) - len(without.parts),
        excess_without=without.poured.final_litres / task.limits.final_litres - 1.0,
    )
