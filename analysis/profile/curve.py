"""From what a panel feels to what it would be expected to score.

Where scores at an end of the line are no measurements, a sample is a normal latent mean ``z_i``
which may lie beyond the end. What the panel would be expected to score on an ordinary evening is
the rising curve::

    M_i(z) = mean_j E score(N(f_ij + g_j (z - z_i), sigma_j^2 + sessions + disagreement))

its estimate the mean of ``M_i`` over the posterior of ``z_i``, its band ``M_i`` at the quantiles
of ``z_i``. Of a sample near the end only the few who would write anything matter, and what they
lastingly think of it does not average out as it does over the whole panel: with slopes ``h_ij``
of the expected score of each and ``D_ij`` the variance of his opinion, the variance of ``z_i`` is
taken wider by ``sum h^2 D / (sum h g)^2 - sum D / J^2``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from ..array_types import Codes, Matrix, Vector
from .ends import HIGH_END, Ends
from .equations import assessor_share
from .evaluation import Evaluation
from .layout import sums
from .lines import one_sided, two_sided
from .terms import ASSESSOR_SAMPLE, ASSESSOR_SESSION, SESSION

_NODES = 17
_ROOT = np.sqrt(2.0 * np.pi)


def expected(mean: Matrix, variance: Matrix, cut: Vector) -> Matrix:
    """Expected score of ``N(mean, variance)``: 0 below `cut`, at most the upper end.

    Examples
    --------
    >>> import numpy as np
    >>> cut = np.array([0.5])
    >>> found = expected(np.array([-30.0, 0.0, 50.0, 130.0]), np.full(4, 25.0), cut)
    >>> found.round(2).tolist()
    [0.0, 1.98, 50.0, 100.0]
    """
    sd = np.sqrt(variance)
    low, high = (cut - mean) / sd, (HIGH_END - mean) / sd
    bend = (np.exp(-0.5 * low * low) - np.exp(-0.5 * high * high)) / _ROOT
    found: Matrix = HIGH_END * ndtr(-high) + mean * (ndtr(high) - ndtr(low)) + sd * bend
    return found


def slope(mean: Matrix, variance: Matrix, cut: Vector) -> Matrix:
    """Slope of `expected` over the mean.

    Examples
    --------
    >>> import numpy as np
    >>> slope(np.array([-30.0, 50.0]), np.full(2, 25.0), np.array([0.5])).round(6).tolist()
    [0.0, 1.0]
    """
    sd = np.sqrt(variance)
    low, high = (cut - mean) / sd, (HIGH_END - mean) / sd
    step = cut * np.exp(-0.5 * low * low) / (_ROOT * sd)
    found: Matrix = ndtr(high) - ndtr(low) + step
    return found


@dataclass(frozen=True)
class Curve:
    """Expected score of a panel over the latent mean of each sample.

    Attributes
    ----------
    at
        Latent mean at which `felt` holds, by sample.
    felt
        Latent mean of each member of the panel, (samples, panel).
    slope
        Of each member.
    variance
        Of one score on an ordinary evening, (samples, panel).
    cut
        Below which each member writes 0.
    step
        Of the line: less than half of one prints as 0.
    wider
        By how much the variance of each sample is to be taken wider.
    """

    at: Vector
    felt: Matrix
    slope: Vector
    variance: Matrix
    cut: Vector
    step: float
    wider: Vector

    def __call__(self, z: Vector) -> Vector:
        """Expected score at latent means, one a sample."""
        mean = self.felt + self.slope * (z - self.at)[:, None]
        found: Vector = expected(mean, self.variance, self.cut).mean(axis=1)
        return found

    def moments(self, z: Vector, sd: Vector) -> tuple[Vector, Vector]:
        """Mean and sd of the expected score where the latent mean is ``N(z, sd^2)``."""
        node, weight = np.polynomial.hermite_e.hermegauss(_NODES)
        weight, sd = weight / weight.sum(), np.sqrt(sd**2 + self.wider)
        at = np.array([self(z + sd * one) for one in node])
        mean: Vector = weight @ at
        return mean, np.sqrt(np.maximum(weight @ (at - mean) ** 2, 0.0))

    def band(self, z: Vector, sd: Vector, level: float) -> tuple[Vector, Vector]:
        """Expected score at the quantiles; from 0, and one-sided, where that is next to nothing."""
        sd = np.sqrt(sd**2 + self.wider)
        low, high = self(z - two_sided(level) * sd), self(z + two_sided(level) * sd)
        nothing = low < 0.5 * self.step
        up_to = self(z + one_sided(level) * sd)
        return np.where(nothing, 0.0, low), np.where(nothing, up_to, high)


def curve_of(at: Evaluation, ends: Ends, panel: Codes, estimate: Vector) -> Curve:
    """What the panel would be expected to score by a fit; `estimate` is its latent mean."""
    lay, sys, now = at.problem.layout, at.system, at.parameters
    g = lay.glasses
    share, _ = assessor_share(sys)
    offset = share * sums(lay.block_assessor, at.solution.own, g.n_assessors)
    cell = np.zeros((g.n_samples, g.n_assessors))
    cell[lay.cell_sample, lay.cell_assessor] = at.solution.cell
    felt = at.solution.mu + offset + np.outer(at.solution.tau, now.scale) + cell
    evening = now.ratios.get(SESSION, 0.0) + now.ratios.get(ASSESSOR_SESSION, 0.0)
    dissent = np.full_like(cell, now.ratios.get(ASSESSOR_SAMPLE, 0.0))
    dissent[lay.cell_sample, lay.cell_assessor] = sys.kappa
    variance = at.squares * (evening + dissent + now.noise)
    felt, variance, cut = felt[:, panel], variance[:, panel], ends.written[panel]
    wider = _wider(slope(felt, variance, cut), now.scale[panel], at.squares * dissent[:, panel])
    return Curve(estimate, felt, now.scale[panel], variance, cut, ends.step, wider)


def _wider(slope: Matrix, scale: Vector, dissent: Matrix) -> Vector:
    """What lasting opinions add to the variance where not everybody's counts the same."""
    along = np.maximum(np.abs(slope @ scale), 1e-12)
    own = np.sum(slope**2 * dissent, axis=1) / along**2
    found: Vector = np.maximum(own - np.sum(dissent, axis=1) / slope.shape[1] ** 2, 0.0)
    return found
