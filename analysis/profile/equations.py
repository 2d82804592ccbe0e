"""What every way of solving the equations of one descriptor has: its ratios, and what they weigh.

The model of a glass nosed by assessor j in block b = (j, session s), of sample i, cell
c = (j, i)::

    y = mu + a_j + s_s + o_b + g_j tau_i + d_c + e      var(e) = s^2 / w
    tau_i = x_i' gamma + v_i - mean(v)        v_i = f_filling(i) + u_i

All effects but ``mu`` and ``gamma`` are random. Samples are taken about their mean, so that an
offset is that on the average sample and nothing a scale could stand for. Everything here is in
units of ``s^2``, each variance a ratio ``r`` to it. Cells are absorbed one by one (rank one each),
``kappa_c = r_d / (1 + r_d W_c)``.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..array_types import Matrix, Vector
from .layout import ModelLayout, sums
from .priors import Nested
from .terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    ASSESSOR_SESSION,
    FILLING,
    SAMPLE,
    SESSION,
)

if TYPE_CHECKING:
    from .panel_weights import PanelWeights


@dataclass(frozen=True)
class Solution:
    """Best linear unbiased predictions, and what they leave of each glass.

    Attributes
    ----------
    tau, u
        Of each sample with and without its covariates.
    block
        ``mu + a + s + o`` of each block, and `own`, the part ``a + o`` of it.
    cell
        Disagreement of each cell.
    left
        Residual of each glass.
    squares
        ``y' P y``.
    """

    tau: Vector
    u: Vector
    gamma: Vector
    session: Vector
    mu: float
    own: Vector
    block: Vector
    cell: Vector
    left: Vector
    squares: float


class Equations(ABC):
    """Equations at one set of ratios, scales and weights.

    Attributes
    ----------
    n, p, n_sessions
        Number of samples, of covariates, and of sessions that have a term.
    samples
        Covariance of the samples.
    meeting_weight, cell_weight
        Sums of the weights of the glasses.
    kept
        Share of each cell's weight that its disagreement leaves.
    kappa
        Variance of each cell's disagreement once its glasses are known.
    """

    def __init__(
        self,
        layout: ModelLayout,
        ratios: Mapping[str, float],
        scale: Vector,
        weight: Vector,
        p: int = 0,
    ) -> None:
        self.layout, self.ratios = layout, dict(ratios)
        self.scale, self.weight = scale, weight
        g = layout.glasses
        self.n, self.p = g.n_samples, p
        self.n_sessions = g.n_sessions if SESSION in ratios else 0
        self.has_samples = SAMPLE in ratios or FILLING in ratios
        self.samples = Nested.of(ratios.get(SAMPLE, 0.0), ratios.get(FILLING, 0.0), g.filling)
        ratio = ratios.get(ASSESSOR_SAMPLE, 0.0)
        self.meeting_weight = sums(layout.meeting, weight, layout.n_meetings)
        self.cell_weight = sums(layout.meeting_cell, self.meeting_weight, layout.n_cells)
        self.kept = 1.0 / (1.0 + ratio * self.cell_weight)
        self.kappa = ratio * self.kept
        self.cell_scale = scale[layout.cell_assessor]

    @property
    def degrees(self) -> int:
        """Glasses less fixed effects."""
        return int(len(self.weight) - self.p - 1)

    @property
    @abstractmethod
    def log_determinant(self) -> float:
        """``log|V| + log|X' V^-1 X|`` in units of ``s^2``."""

    @abstractmethod
    def solve(self, y: Vector) -> Solution:
        """Predict every effect."""

    @abstractmethod
    def gram(self, columns: Matrix) -> Matrix:
        """``f' P f`` of columns that say one number a meeting."""

    @abstractmethod
    def gamma_covariance(self) -> Matrix:
        """Covariance of gamma in units of ``s^2``."""


@dataclass(frozen=True)
class PredictionErrors:
    """Of the panel's mean score of each sample, in units of ``s^2``.

    Attributes
    ----------
    variance, of_sum
        Of each sample, and of the sum over all.
    alone
        What comes on top of it for each sample, its own.
    offsets
        What comes on top for all alike, through the assessors' offsets.
    """

    variance: Vector
    of_sum: float
    alone: Vector
    offsets: float


class SecondMoments(ABC):
    """What is uncertain about the effects at given variances, in units of ``s^2``.

    Attributes
    ----------
    tau_variance
        Of each sample.
    """

    tau_variance: Vector

    @property
    @abstractmethod
    def system(self) -> Equations:
        """The equations."""

    @property
    @abstractmethod
    def fitted_variance(self) -> Vector:
        """Variance of what is fitted, cell effect and all, at each meeting."""

    @property
    @abstractmethod
    def tau_with_fitted(self) -> Vector:
        """``cov(tau, fitted)`` at each meeting, cell effect and all."""

    @property
    @abstractmethod
    def left_out_information(self) -> Vector:
        """Diagonal of ``Z' P Z``: the inverse variance of predicting each sample from the rest.

        With `score` = ``Z' P y`` the error of that prediction is ``score / information``.
        """

    @property
    @abstractmethod
    def offset_covariance(self) -> Matrix:
        """Covariance of the assessors' offsets."""

    @abstractmethod
    def traces(self) -> dict[str, float]:
        """``tr(Z' P Z)`` of each term in the model."""

    @abstractmethod
    def prediction_errors(self, panel: PanelWeights) -> PredictionErrors:
        """How far off the mean score of a panel is predicted."""


def assessor_share(system: Equations) -> tuple[Vector, Vector]:
    """How ``a_j`` follows from the sum of his ``a_j + o_b``, and its variance given them."""
    ratio = system.ratios.get(ASSESSOR, 0.0)
    inner = system.ratios.get(ASSESSOR_SESSION, 0.0)
    count = system.layout.block_counts
    total = inner + count * ratio
    share = np.divide(ratio, total, out=np.zeros_like(total), where=total > 0.0)
    return share, ratio * (1.0 - share * count)
