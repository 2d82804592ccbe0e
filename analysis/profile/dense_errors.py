"""Prediction errors by the dense way: of each sample, and what all share."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from ..array_types import Matrix, Vector
from .layout import sums
from .lower import cast, solved
from .panel_weights import PanelWeights
from .system import System


class _Weights:
    """The panel's weights on samples, blocks and cells of a system."""

    def __init__(self, system: System, panel: PanelWeights) -> None:
        self.system, self.scale = system, panel.scale
        lay = system.layout
        self.given = panel.cell * system.kappa
        self.on_average: Vector = (panel.assessor * panel.share)[lay.block_assessor]

    def on_rest(self) -> Matrix:
        """Weights of (samples, sessions, mu) by sample, before blocks move with them."""
        sys, lay = self.system, self.system.layout
        found = np.zeros((sys.n, sys.n + sys.n_sessions + 1), sys.precision)
        each = np.arange(sys.n)
        pulled = sums(lay.cell_sample, self.given * sys.cell_weight * sys.cell_scale, sys.n)
        found[each, each] = self.scale - pulled
        found[:, -1] = 1.0 - sums(lay.meeting_sample, self.by_meeting, sys.n)
        if sys.n_sessions:
            column = sys.n + lay.block_session[lay.meeting_block]
            np.add.at(found, (lay.meeting_sample, column), -self.by_meeting)
        return found

    @cached_property
    def by_meeting(self) -> Vector:
        """How the block of each meeting is held against the disagreement."""
        found: Vector = self.given[self.system.layout.meeting_cell] * self.system.meeting_weight
        return found


def prediction_errors(system: System, panel: PanelWeights) -> tuple[Vector, float]:
    """Variance of each sample's prediction error, and that of their sum over samples.

    Disagreement and offsets given the blocks are not in them.
    """
    weights = _Weights(system, panel)
    given, total = _of_blocks(weights)
    half = solved(system.factor, system.to_unknowns(_moved(weights).T))
    variance = given + np.sum(half * half, axis=0, dtype=np.float64)
    return variance, total + float(np.sum(half.sum(axis=1, dtype=np.float64) ** 2))


def _moved(weights: _Weights) -> Matrix:
    """Weights of the rest with the blocks moving along, session by session."""
    sys = weights.system
    found = weights.on_rest()
    found -= cast(weights.on_average, sys.precision) @ sys.reach
    pulled = cast(weights.by_meeting, sys.precision)
    for part in sys.layout.sessions:
        found[part.samples] += part.table(pulled) @ sys.reach[part.blocks]
    return found


def _of_blocks(weights: _Weights) -> tuple[Vector, float]:
    """Variance of each sample's blocks given the rest, and that of their sum over samples.

    Of each assessor ``w = average - pulled``; all but a few entries are the average's.
    """
    sys, lay = weights.system, weights.system.layout
    found, total = np.zeros(sys.n), 0.0
    for j, (at, fold) in enumerate(zip(lay.assessors, sys.folds, strict=True)):
        average = weights.on_average[at.blocks]
        flat = fold.covariance @ average
        pulled = lay.by_sample(j, weights.by_meeting[at.meetings])
        spread = pulled @ fold.covariance
        sample = lay.meeting_sample[at.meetings]
        block = lay.meeting_block[at.meetings] - at.blocks.start
        found += sums(sample, pulled.data * spread[sample, block], sys.n)
        found += average @ flat - 2.0 * (pulled @ flat)
        summed = sys.n * average - pulled.sum(axis=0).A1
        total += float(summed @ fold.covariance @ summed)
    return found, total
