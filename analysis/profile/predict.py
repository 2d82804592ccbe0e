"""What the standing panel would be expected to score, and how sure that is.

For sample i and the panel's J assessors, no session's mood in it::

    z_i = mu + mean(a_j) + mean(g_j) tau_i + mean(d_ij)

Its variance is that of the prediction error given these people: disagreement they were not yet
asked about counts, that of other people does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..array_types import Codes, Matrix, Vector
from .equations import SecondMoments, Solution
from .layout import sums
from .panel_weights import PanelWeights

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
    moments: SecondMoments,
    found: Solution,
    panel: Codes,
    squares: float,
    serving: Serving | None = None,
) -> Prediction:
    """Predict every sample for the assessors in `panel`; `squares` is ``s^2``."""
    weights = PanelWeights(moments.system, panel)
    estimate, fixed = _expected(weights, found)
    variance, common = _errors(moments, weights)
    order = np.zeros((len(estimate), 0))
    if serving is not None:
        order = -serving.moved([_expected(weights, one)[0] for one in serving.along], len(estimate))
    variance = squares * (variance + np.sum(order**2, axis=1))
    return Prediction(estimate, variance, squares * common, fixed, np.sqrt(squares) * order)


def _expected(weights: PanelWeights, found: Solution) -> tuple[Vector, Vector]:
    """Mean score of each sample, and what of it holds for one that nobody nosed."""
    lay = weights.system.layout
    offsets = weights.share * sums(lay.block_assessor, found.own, len(weights.share))
    level = found.mu + float(weights.assessor @ offsets)
    disagreement = sums(lay.cell_sample, weights.cell * found.cell, weights.system.n)
    fixed = level + weights.scale * (found.tau - found.u)
    return fixed + weights.scale * found.u + disagreement, fixed


def _errors(moments: SecondMoments, weights: PanelWeights) -> tuple[Vector, float]:
    """Prediction error variances, and the mean covariance of two samples' errors."""
    found = moments.prediction_errors(weights)
    n = max(len(found.variance), 2)
    shared = (found.of_sum - float(found.variance.sum())) / (n * (n - 1))
    alone = found.alone + weights.unasked()
    return found.variance + alone + found.offsets, max(found.offsets + shared, 0.0)
