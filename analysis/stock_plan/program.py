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
    """The columns of one block: those of a vatting, and what of it is not made."""

    def __init__(self, block: Block) -> None:
        model = block.model
        self.block, self.layout = block, Layout(model)
        self.width = self.layout.width + 1
        eased = [np.zeros(len(model.soft)), block.short]
        if len(model.count):
            eased.append(block.short_count)
        rows = self.layout.rows()
        n_rows = sum(matrix.shape[0] for matrix, _ in rows)
        relief = np.concatenate(eased)
        relief = np.concatenate([relief, np.zeros(n_rows - len(relief))])
        self.matrix = sp.hstack(
            [sp.vstack([matrix for matrix, _ in rows]), sp.csr_matrix(-relief[:, None])],
            format="csr",
        )
        self.limit = np.concatenate([limit for _, limit in rows])
        lower, upper = self.layout.bounds()
        self.lower, self.upper = np.append(lower, 0.0), np.append(upper, 1.0)
        self.integrality = np.append(self.layout.integrality(), 0.0)
        self.cost = np.append(self.layout.cost(), block.short_cost)

    def fractions(self, found: Floats) -> Floats:
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
