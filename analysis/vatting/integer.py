"""The integer program over a few hundred casks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sp

from ..array_types import Flags, Floats
from .model import Model
from .unheard import unheard

_INFEASIBLE = 2
_Block = tuple[slice, Any]


@dataclass(frozen=True, eq=False)
class Program:
    """What the integer solver found.

    Attributes
    ----------
    fractions
        The answer; None where none was found in time.
    bound
        No answer with these casks is below it.
    infeasible
        Whether it was proven that there is none.
    """

    fractions: Floats | None
    bound: float
    infeasible: bool


def solve_integer(
    model: Model,
    seconds: float,
    gap: float = 5e-4,
    *,
    feasible_only: bool = False,
    nodes: int | None = None,
) -> Program:
    """Solve the mixed-integer program over all casks of a model.

    A fixed column of cost 1 is added: the objective is often 0, and with it the solver's
    relative gap acts as an absolute one, in points.

    Parameters
    ----------
    model
        The problem, with some hundred casks at most.
    seconds
        Time limit. On problems of this size the solver overran it by 0.4 s at most on two
        busy cores, and it lets other threads run meanwhile, so it needs no process of its own.
    gap
        Stop when the answer is proven to be within so many points.
    feasible_only
        Stop at the first answer that keeps the limits, wherever it lies.
    nodes
        Most nodes of the tree, for an answer that hangs on no clock; None asks nothing.
    """
    from scipy.optimize import Bounds, milp

    layout = Layout(model)
    cost = layout.cost()
    if feasible_only:
        cost[:-1] = 0.0
    lower, upper = layout.bounds()
    with unheard():
        found = milp(
            cost,
            integrality=layout.integrality(),
            bounds=Bounds(lower, upper),
            constraints=layout.constraints(),
            options=solver_options(seconds, gap, nodes),
        )
    return _program(model, layout, found)


def solver_options(seconds: float, gap: float, nodes: int | None) -> dict[str, Any]:
    """Where the integer solver ends: by the clock at the latest, by nodes where they are given."""
    options: dict[str, Any] = {"mip_rel_gap": gap}
    if seconds < np.inf:
        options["time_limit"] = max(seconds, 0.01)
    if nodes is not None:
        options["node_limit"] = nodes
    return options


def _program(model: Model, layout: Layout, found: Any) -> Program:
    dual = found.mip_dual_bound
    bound = -np.inf if dual is None or not np.isfinite(dual) else float(dual) - 1.0
    if found.x is None:
        return Program(None, bound, found.status == _INFEASIBLE)
    used = np.asarray(found.x[layout.used]) > 0.5
    fractions = np.asarray(found.x[layout.fraction], dtype=np.float64)
    return Program(snapped(model, fractions, used), bound, False)


def snapped(model: Model, fractions: Floats, used: Flags) -> Floats:
    """Put fractions exactly where they may be, a solver's tolerance away from where they are."""
    if model.whole:
        return used.astype(np.float64)
    emptied = model.can_empty & (fractions > 0.5 * (1.0 + model.high))
    drawn = np.clip(fractions, model.low, model.high)
    return np.where(used, np.where(emptied, 1.0, drawn), 0.0)


class Layout:
    """Columns of the program: fractions, casks used, casks emptied, overstepping, the one."""

    def __init__(self, model: Model) -> None:
        self.model = model
        n, n_soft = model.n, len(model.soft)
        self.split = not model.whole
        self.emptying = self.split and bool(model.can_empty.any())
        self.fraction = slice(0, n)
        self.used = slice(n, 2 * n) if self.split else self.fraction
        start = 2 * n if self.split else n
        self.emptied = slice(start, start + n) if self.emptying else slice(start, start)
        start = self.emptied.stop
        self.overstep = slice(start, start + n_soft)
        self.width = start + n_soft + 1

    def bounds(self) -> tuple[Floats, Floats]:
        """Least and most of each column."""
        lower, upper = np.zeros(self.width), np.ones(self.width)
        lower[self.used] = self.model.forced
        upper[self.fraction] = self.model.most
        upper[self.overstep] = np.inf
        if self.emptying:
            upper[self.emptied] = self.model.can_empty
        lower[-1] = 1.0
        return lower, upper

    def integrality(self) -> Floats:
        """1 for a column that is whole, 0 for one that is not."""
        kinds = np.zeros(self.width)
        kinds[self.used] = 1
        kinds[self.emptied] = 1
        return kinds

    def constraints(self) -> Sequence[Any]:
        """The rows as the solver takes them."""
        from scipy.optimize import LinearConstraint

        return [LinearConstraint(matrix, -np.inf, limit) for matrix, limit in self.rows()]

    def rows(self) -> list[tuple[Any, Floats]]:
        """Sparse rows over the columns, and what each may be at most.

        First those of the band, then the hard ones, then the counts.
        """
        model = self.model
        n_soft = len(model.soft)
        soft = self._place((self.fraction, model.soft), (self.overstep, -np.eye(n_soft)))
        hard = self._place((self.fraction, model.hard))
        found: list[tuple[Any, Floats]] = [(soft, np.zeros(n_soft)), (hard, model.hard_limit)]
        if len(model.count):
            found.append((self._place((self.used, model.count)), model.count_limit))
        if self.split:
            found += [(links, np.zeros(links.shape[0])) for links in self._links()]
        return found

    def cost(self) -> Floats:
        """Weighed points outside the band and small preferences; the fixed column costs 1."""
        cost = np.zeros(self.width)
        cost[self.fraction] = self.model.cost
        cost[self.used] += self.model.cask_cost
        cost[self.overstep] = self.model.soft_weight
        cost[-1] = 1.0
        return cost

    def _links(self) -> list[Any]:
        """A cask used gives low to high, or all when emptied; one not used gives nothing."""
        model = self.model
        one = sp.identity(model.n, format="csr")
        high, low = sp.diags(model.high), sp.diags(model.low)
        above: list[_Block] = [(self.fraction, one), (self.used, -high)]
        below: list[_Block] = [(self.fraction, -one), (self.used, low)]
        if not self.emptying:
            return [self._place(*above), self._place(*below)]
        above.append((self.emptied, sp.diags(model.high - 1.0)))
        below.append((self.emptied, sp.diags(1.0 - model.low)))
        only_used = self._place((self.used, -one), (self.emptied, one))
        return [self._place(*above), self._place(*below), only_used]

    def _place(self, *blocks: _Block) -> Any:
        """Put blocks at their columns, in rising order, zeros elsewhere."""
        height = blocks[0][1].shape[0]
        placed = []
        at = 0
        for columns, block in blocks:
            placed.append(sp.csr_matrix((height, columns.start - at)))
            placed.append(sp.csr_matrix(block))
            at = columns.stop
        placed.append(sp.csr_matrix((height, self.width - at)))
        return sp.hstack(placed, format="csr")
