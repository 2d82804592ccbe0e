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
from .layout import sums
from .moments import Moments
from .system import Solution, System
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
    def of(cls, system: System, found: Solution) -> Scores:
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


def of_term(system: System, scores: Scores, name: str) -> Vector:
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
    system: System,
    found: Solution,
    moments: Moments,
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
    lengths = np.array([v.length for v in variates])
    traces = np.array(list(moments.traces().values()))
    d, q = system.degrees, found.squares
    gram = _gram(system, scores, variates)
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


@dataclass(frozen=True)
class _Variate:
    """``f = G p + Z h`` of a term of samples or blocks; of the cells neither is set."""

    length: float
    samples: Vector
    blocks: Vector
    on_samples: Vector
    on_blocks: Vector


def _variate(system: System, scores: Scores, name: str) -> _Variate:
    lay = system.layout
    if name == ASSESSOR_SAMPLE:
        return _of_cells(system, scores.cell)
    if name in (SAMPLE, FILLING):
        centred = scores.sample - scores.sample.mean()
        p = centred
        if name == FILLING:
            p = system.samples.totals(p)[system.samples.group]
            p = p - p.mean()
        moved = sums(lay.meeting_block, system.cross * p[lay.meeting_sample], lay.n_blocks)
        length = float(p @ centred)
        return _Variate(length, p, np.zeros(lay.n_blocks), system.sample_info * p, moved)
    h = scores.block
    if name in (SESSION, ASSESSOR):
        group = lay.block_session if name == SESSION else lay.block_assessor
        h = sums(group, h, int(group.max()) + 1)[group]
    on_samples = sums(lay.meeting_sample, system.cross * h[lay.meeting_block], system.n)
    on_blocks = np.concatenate(
        [fold.info @ h[at.blocks] for at, fold in zip(lay.assessors, system.folds, strict=True)]
    )
    return _Variate(float(h @ scores.block), np.zeros(system.n), h, on_samples, on_blocks)


def _of_cells(system: System, score: Vector) -> _Variate:
    lay = system.layout
    kept = system.kept * score
    by_cell = system.cell_scale * system.cell_weight * kept
    on_blocks = sums(
        lay.meeting_block, system.meeting_weight * kept[lay.meeting_cell], lay.n_blocks
    )
    return _Variate(
        float(score @ score),
        np.zeros(system.n),
        np.zeros(lay.n_blocks),
        sums(lay.cell_sample, by_cell, system.n),
        on_blocks,
    )


def _gram(system: System, scores: Scores, variates: list[_Variate]) -> Matrix:
    """``f_i' P f_j`` of all pairs."""
    p, h = (np.stack([getattr(v, k) for v in variates], axis=1) for k in ("samples", "blocks"))
    on_samples = np.stack([v.on_samples for v in variates], axis=1)
    on_blocks = np.stack([v.on_blocks for v in variates], axis=1)
    base = on_samples.T @ p + on_blocks.T @ h
    names = list(system.ratios)
    if ASSESSOR_SAMPLE in names:
        at = names.index(ASSESSOR_SAMPLE)
        base[:, at] = base[at]
        base[at, at] = np.sum(system.kept * system.cell_weight * scores.cell**2)
    half = system.half(on_samples, on_blocks)
    found: Matrix = base - half.gram(half)
    return found
