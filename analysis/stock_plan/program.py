"""The full integer program: every cask, every release, proven."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sp

from ..array_types import Flags, Floats
from ..vatting.integer import Layout, snapped, solver_options
from ..vatting.unheard import unheard
from .blocks import Block, Problem
from .result import PROVEN_GAP

_GAP = 5e-4
_CLOSER = 0.9
"""Of the gap at which a plan counts as proven: where a proof is asked, it ends well within."""
_USED = 0.5


@dataclass(frozen=True, eq=False)
class Solved:
    """Fractions by block, their objective, what no plan goes below, and nodes of the tree."""

    fractions: list[Floats]
    objective: float
    bound: float
    nodes: int = 0


def solve_program(
    problem: Problem, seconds: float, nodes: int, known: float | None = None
) -> Solved | None:
    """Solve the whole problem with every draw and every cask a decision of its own.

    For some thousand ways a cask may go at most. A fixed column costs 1, so that the solver's
    relative gap acts as one in points.

    Parameters
    ----------
    problem
        Blocks and house rows.
    seconds
        The outer limit of time.
    nodes
        Most nodes of the tree.
    known
        What a plan at hand has, points: the tree then ends only once its best is proven, to less
        than what is told as proven. None is content with a gap in proportion to the points.

    Returns
    -------
    Solved or None
        None where nothing was found in time.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    parts = [_Part(block) for block in problem.blocks]
    # A gap in points is one in proportion to the largest value that the solver can end at.
    gap = _GAP if known is None else _CLOSER * PROVEN_GAP / (max(known, 0.0) + len(parts))
    matrix = sp.block_diag([part.matrix for part in parts], format="csr")
    starts = np.concatenate([[0], np.cumsum([part.width for part in parts])]).astype(int)
    shared, limits = _shared(problem, parts, starts)
    with unheard():
        found = milp(
            np.concatenate([part.cost for part in parts]),
            integrality=np.concatenate([part.integrality for part in parts]),
            bounds=Bounds(
                np.concatenate([part.lower for part in parts]),
                np.concatenate([part.upper for part in parts]),
            ),
            constraints=[
                LinearConstraint(matrix, -np.inf, np.concatenate([part.limit for part in parts])),
                LinearConstraint(shared, -np.inf, limits),
            ],
            options=solver_options(seconds, gap, nodes),
        )
    if found.x is None:
        return None
    fractions = [part.fractions(found.x[at:]) for part, at in zip(parts, starts, strict=False)]
    # Without a column that is whole there is nothing to branch on, and no bound besides the value.
    dual = found.fun if found.mip_dual_bound is None else found.mip_dual_bound
    bound = float(dual) - len(parts)
    return Solved(fractions, problem.value(fractions), bound, int(found.mip_node_count or 0))


class _Part:
    """The columns of one block: those of a vatting, what of it is not made, and if it is made.

    The last is there only where something must be in: a cask, or so many of them. Only of what is
    not made at all nothing must.
    """

    def __init__(self, block: Block) -> None:
        model = block.model
        self.block, self.layout = block, Layout(model)
        self.forced = np.flatnonzero(model.forced)
        self.must = bool(len(self.forced)) or bool(np.any(block.short_count > 0.0))
        self.width = self.layout.width + 1 + self.must
        lower, upper = self.layout.bounds()
        lower[self.layout.used] = 0.0
        self.lower = np.append(lower, np.zeros(1 + self.must))
        self.upper = np.append(upper, np.ones(1 + self.must))
        self.integrality = np.append(self.layout.integrality(), [0.0, 1.0][: 1 + self.must])
        self.cost = np.append(self.layout.cost(), [block.short_cost, 0.0][: 1 + self.must])
        self._rows()

    def _rows(self) -> None:
        block, model = self.block, self.block.model
        rows = self.layout.rows()
        eased = np.zeros((sum(matrix.shape[0] for matrix, _ in rows), 1 + self.must))
        n_soft, n_hard = len(model.soft), len(block.short)
        eased[n_soft : n_soft + n_hard, 0] = block.short
        if self.must and len(model.count):
            start = n_soft + n_hard
            eased[start : start + len(model.count), 1] = block.short_count
        matrix = sp.vstack([matrix for matrix, _ in rows])
        self.matrix = sp.hstack([matrix, sp.csr_matrix(-eased)], format="csr")
        self.limit = np.concatenate([limit for _, limit in rows])
        if self.must:
            self.matrix = sp.vstack([self.matrix, self._musts()], format="csr")
            self.limit = np.concatenate([self.limit, -np.ones(len(self.forced)), [0.0]])

    def _musts(self) -> Any:
        """Each cask that must be in is, or nothing is made; and what is not made is missing."""
        rows = sp.lil_matrix((len(self.forced) + 1, self.width))
        for row, column in enumerate(self.forced):
            rows[row, self.layout.used.start + column] = rows[row, self.width - 1] = -1.0
        rows[-1, self.width - 2 :] = [[-1.0, 1.0]]
        return rows.tocsr()

    def fractions(self, found: Floats) -> Floats:
        if self.must and found[self.width - 1] > _USED:
            return np.zeros(self.block.model.n)
        used: Flags = np.asarray(found[self.layout.used]) > _USED
        return snapped(self.block.model, np.asarray(found[self.layout.fraction]), used)


def _shared(problem: Problem, parts: list[_Part], starts: Any) -> tuple[Any, Floats]:
    """Each cask is given once, what is left in it stays, and the house's limits hold."""
    width = int(starts[-1])
    once, limit = sp.lil_matrix((problem.n_casks, width)), np.ones(problem.n_casks)
    for part, at in zip(parts, starts, strict=False):
        model, casks = part.block.model, part.block.casks
        once[casks, at + np.arange(model.n)] = 1.0
        if part.layout.emptying:  # what a release leaves in a cask, no other takes
            limit[casks] = np.minimum(limit[casks], np.where(model.can_empty, model.high, 1.0))
    for part, at in zip(parts, starts, strict=False):
        casks = part.block.casks
        if part.layout.emptying:
            emptied = at + np.arange(part.layout.emptied.start, part.layout.emptied.stop)
            once[casks, emptied] = -(1.0 - limit[casks])
    rows, most = [once.tocsr()], [limit]
    for house in problem.house:
        row = np.zeros(width)
        for part, at, litres in zip(parts, starts, house.litres, strict=False):
            if litres is not None:
                row[at : at + part.block.model.n] = litres
        if np.isfinite(house.limit):
            rows.append(sp.csr_matrix(row[None, :]))
            most.append(np.array([house.limit]))
    return sp.vstack(rows, format="csr"), np.concatenate(most)
