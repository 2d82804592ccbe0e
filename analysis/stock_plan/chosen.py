"""What a search for a plan has found so far."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ..array_types import Floats
from .blocks import Problem
from .dual import Dual
from .result import PROVEN_GAP, Ended
from .search import keeps


@dataclass(eq=False)
class Chosen:
    """What has been found so far.

    Attributes
    ----------
    fractions, objective
        The best plan, by block, and its value.
    alone
        What release after release gives.
    bound, prices
        What no plan goes below, and the prices that prove it.
    ended
        Why the search ended.
    moved
        Blocks that draw otherwise than an earlier plan; None where there was none.
    """

    problem: Problem
    fractions: list[Floats]
    alone: list[Floats]
    objective: float = np.inf
    bound: float = -np.inf
    prices: Floats = field(default_factory=lambda: np.zeros(0))
    ended: Ended = Ended.DONE
    moved: frozenset[int] | None = None

    def offer(self, fractions: list[Floats]) -> bool:
        """Keep a plan when it is better and breaks nothing."""
        value = self.problem.value(fractions)
        if value >= self.objective or not keeps(self.problem, fractions):
            return False
        self.fractions, self.objective = [part.copy() for part in fractions], value
        return True

    def proves(self, dual: Dual, prices: Floats) -> None:
        """Keep a bound when it is higher."""
        bound = dual.bound(prices)
        if bound > self.bound:
            self.bound, self.prices = bound, prices

    @property
    def proven(self) -> bool:
        """Whether no better plan exists, to a thousandth of a point."""
        return self.objective - self.bound <= PROVEN_GAP
