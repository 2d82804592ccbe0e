"""Gradient and average-information Hessian of the deviance over the variance ratios.

With ``V`` in units of ``s^2``, ``d`` degrees of freedom and ``q = y'Py``, the restricted
deviance profiled over ``s^2`` is ``log|V| + log|X'V^-1 X| + d (1 + log(2 pi q / d))`` and::

    gradient_i = tr(Z_i' P Z_i) - d |Z_i'Py|^2 / q
    hessian_ij = d (f_i' P f_j / q - l_i l_j / q^2)       f_i = Z_i Z_i'Py,  l_i = |Z_i'Py|^2

the Hessian averaged over the data (Gilmour, Thompson & Cullis 1995).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..array_types import Matrix, Vector
from .equations import Equations, SecondMoments, Solution
from .layout import sums
from .terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    FILLING,
    SAMPLE,
    SESSION,
)

if TYPE_CHECKING:
    from .serving import Serving


@dataclass(frozen=True)
class Scores:
    """``Z' P y`` of samples, blocks and cells."""

    sample: Vector
    block: Vector
    cell: Vector

    @classmethod
    def of(cls, system: Equations, found: Solution) -> Scores:
        """Scores of a solution."""
        lay, g = system.layout, system.layout.glasses
        pull = system.weight * found.left
        return cls(
            sums(g.sample, system.scale[g.assessor] * pull, g.n_samples),
            sums(lay.block, pull, lay.n_blocks),
            sums(lay.cell, pull, lay.n_cells),
        )


@dataclass(frozen=True)
class Slopes:
    """Gradient and Hessian of the deviance over the ratios, in the order of the system's."""

    gradient: Vector
    hessian: Matrix


def of_term(system: Equations, scores: Scores, name: str) -> Vector:
    """``Z' P y`` of one term."""
    lay = system.layout
    if name == ASSESSOR_SAMPLE:
        return scores.cell
    if name in (SAMPLE, FILLING):
        centred: Vector = scores.sample - scores.sample.mean()
        return system.samples.totals(centred) if name == FILLING else centred
    if name not in (SESSION, ASSESSOR):
        return scores.block
    group = lay.block_session if name == SESSION else lay.block_assessor
    return sums(group, scores.block, int(group.max()) + 1)


def slopes(
    system: Equations,
    found: Solution,
    moments: SecondMoments,
    held: float | None = None,
    serving: Serving | None = None,
) -> Slopes:
    """Gradient and average-information Hessian at a system; with ``s^2`` held where it is given.

    Pseudo-scores have no noise of their own to take it from. The terms are then
    ``tr(Z' P Z) - |Z'Py|^2 / s^2`` and ``f_i' P f_j / s^2``. With terms of order beside the
    system, `found` is their common solution.
    """
    scores = Scores.of(system, found)
    variates = [_variate(system, scores, name) for name in system.ratios]
    lengths = np.array([length for _, length in variates])
    traces = np.array(list(moments.traces().values()))
    d, q = system.degrees, found.squares
    gram = system.gram(np.column_stack([column for column, _ in variates]))
    if serving is not None and serving.along:
        shared = [serving.of_term(name) for name in system.ratios]
        traces = traces - np.array([np.sum(part**2) for part in shared])
        pairs = zip(system.ratios, shared, strict=True)
        moved = np.stack([of_term(system, scores, name) @ part for name, part in pairs])
        gram = gram - moved @ moved.T
    if held is not None:
        return Slopes(traces - lengths / held, gram / held)
    scaled = lengths / q
    return Slopes(traces - d * scaled, d * (gram / q - np.outer(scaled, scaled)))


def _variate(system: Equations, scores: Scores, name: str) -> tuple[Vector, float]:
    """``f = Z Z' P y`` of one term by meeting, and ``|Z' P y|^2``."""
    lay = system.layout
    if name == ASSESSOR_SAMPLE:
        return scores.cell[lay.meeting_cell], float(scores.cell @ scores.cell)
    if name in (SAMPLE, FILLING):
        centred = scores.sample - scores.sample.mean()
        p = centred
        if name == FILLING:
            p = system.samples.totals(p)[system.samples.group]
            p = p - p.mean()
        return system.scale[lay.meeting_assessor] * p[lay.meeting_sample], float(p @ centred)
    h = scores.block
    if name in (SESSION, ASSESSOR):
        group = lay.block_session if name == SESSION else lay.block_assessor
        h = sums(group, h, int(group.max()) + 1)[group]
    return h[lay.meeting_block], float(h @ scores.block)
