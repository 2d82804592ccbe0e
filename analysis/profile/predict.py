"""What the standing panel would be expected to score, and how sure that is.

For sample i and the panel's J assessors, no session's mood in it::

    z_i = mu + mean(a_j) + mean(g_j) tau_i + mean(d_ij)

Its variance is that of the prediction error given these people: disagreement they were not yet
asked about counts, that of other people does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..array_types import Codes, Matrix, Vector
from .layout import sums
from .lower import cast, solved
from .moments import assessor_share
from .system import Solution, System
from .terms import ASSESSOR_SAMPLE

if TYPE_CHECKING:
    from .serving import Serving


@dataclass(frozen=True)
class Prediction:
    """Predictions of all samples, in points.

    Attributes
    ----------
    estimate, variance
        ``z`` and the variance of its prediction error.
    common
        Mean covariance of two samples' errors: what they share through mu, the assessors'
        offsets and the sessions.
    order
        What not knowing better what the order of serving does adds to each: errors for each of
        one or two unit normals that all samples share, (samples, columns); in `variance` too.
    fixed
        The part of the estimate that holds for a sample with these covariates nobody nosed.
    """

    estimate: Vector
    variance: Vector
    common: float
    fixed: Vector
    order: Matrix


def predict(
    system: System, found: Solution, panel: Codes, squares: float, serving: Serving | None = None
) -> Prediction:
    """Predict every sample for the assessors in `panel`; `squares` is ``s^2``."""
    weights = _Weights(system, panel)
    estimate, fixed = _expected(weights, found)
    variance, common = _errors(weights)
    order = np.zeros((system.n, 0))
    if serving is not None:
        order = -serving.moved([_expected(weights, one)[0] for one in serving.along], system.n)
    variance = squares * (variance + np.sum(order**2, axis=1))
    return Prediction(estimate, variance, squares * common, fixed, np.sqrt(squares) * order)


def _expected(weights: _Weights, found: Solution) -> tuple[Vector, Vector]:
    """Mean score of each sample, and what of it holds for one that nobody nosed."""
    lay = weights.system.layout
    offsets = weights.share * sums(lay.block_assessor, found.own, len(weights.share))
    level = found.mu + float(weights.assessor @ offsets)
    disagreement = sums(lay.cell_sample, weights.cell * found.cell, weights.system.n)
    fixed = level + weights.scale * (found.tau - found.u)
    return fixed + weights.scale * found.u + disagreement, fixed


class _Weights:
    """How the effects make up the panel's mean."""

    def __init__(self, system: System, panel: Codes) -> None:
        self.system, lay = system, system.layout
        self.n_panel = len(panel)
        self.assessor = np.zeros(lay.glasses.n_assessors)
        self.assessor[panel] = 1.0 / self.n_panel
        self.share, self.own = assessor_share(system)
        self.scale = float(self.assessor @ system.scale)
        self.cell = self.assessor[lay.cell_assessor]
        self.given = self.cell * system.kappa

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

    @cached_property
    def on_average(self) -> Vector:
        """Weight of each block for a sample without a disagreement of its own."""
        found: Vector = (self.assessor * self.share)[self.system.layout.block_assessor]
        return found


def _errors(weights: _Weights) -> tuple[Vector, float]:
    """Prediction error variances, and the mean covariance of two samples' errors."""
    sys, lay = weights.system, weights.system.layout
    given, total = _of_blocks(weights)
    half = solved(sys.factor, sys.to_unknowns(_moved(weights).T))
    variance = given + np.sum(half * half, axis=0, dtype=np.float64)
    total += float(np.sum(half.sum(axis=1, dtype=np.float64) ** 2))
    offsets = float(weights.assessor**2 @ weights.own)
    own = sums(lay.cell_sample, weights.cell * weights.given, sys.n) + _unasked(weights)
    n = max(sys.n, 2)
    shared = (total - float(variance.sum())) / (n * (n - 1))
    return variance + own + offsets, max(offsets + shared, 0.0)


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


def _unasked(weights: _Weights) -> Vector:
    """Disagreement of panel members who have not nosed a sample."""
    sys, lay = weights.system, weights.system.layout
    asked = sums(lay.cell_sample, weights.cell > 0.0, sys.n)
    ratio = sys.ratios.get(ASSESSOR_SAMPLE, 0.0)
    found: Vector = (weights.n_panel - asked) * ratio / weights.n_panel**2
    return found
