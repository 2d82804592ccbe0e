"""From what a panel feels to what it would be expected to score.

Where scores at an end of the line are no measurements, a sample is a normal latent mean ``z_i``
which may lie beyond the end. What the panel would be expected to score on an ordinary evening is
the rising curve::

    M_i(z) = mean_j E score(N(f_ij + g_j (z - z_i), sigma_j^2 + sessions + disagreement))

its estimate the mean of ``M_i`` over the posterior of ``z_i``, its band ``M_i`` at the quantiles
of ``z_i``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from analysis.profile.ends import HIGH_END, Ends
from analysis.profile.evaluation import Evaluation
from analysis.profile.layout import Codes, Matrix, Vector, sums
from analysis.profile.lines import two_sided
from analysis.profile.moments import assessor_share
from analysis.profile.terms import ASSESSOR_SAMPLE, ASSESSOR_SESSION, SESSION

_NODES = 25
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
    """

    at: Vector
    felt: Matrix
    slope: Vector
    variance: Matrix
    cut: Vector
    step: float

    def __call__(self, z: Vector) -> Vector:
        """Expected score at latent means, one a sample."""
        mean = self.felt + self.slope * (z - self.at)[:, None]
        found: Vector = expected(mean, self.variance, self.cut).mean(axis=1)
        return found

    def moments(self, z: Vector, sd: Vector) -> tuple[Vector, Vector]:
        """Mean and sd of the expected score where the latent mean is ``N(z, sd^2)``."""
        node, weight = np.polynomial.hermite_e.hermegauss(_NODES)
        weight = weight / weight.sum()
        at = np.array([self(z + sd * one) for one in node])
        mean: Vector = weight @ at
        return mean, np.sqrt(np.maximum(weight @ (at - mean) ** 2, 0.0))

    def band(self, z: Vector, sd: Vector, level: float) -> tuple[Vector, Vector]:
        """Expected score at the quantiles; a low end of next to nothing is 0."""
        quantile = two_sided(level)
        low, high = self(z - quantile * sd), self(z + quantile * sd)
        return np.where(low < 0.5 * self.step, 0.0, low), high


def curve_of(at: Evaluation, ends: Ends, panel: Codes, estimate: Vector) -> Curve:
    """What the panel would be expected to score by a fit; `estimate` is its latent mean."""
    lay, sys, now = at.problem.layout, at.system, at.parameters
    g = lay.glasses
    share, _ = assessor_share(sys)
    offset = share * sums(lay.block_assessor, at.solution.own, g.n_assessors)
    cell = np.zeros((g.n_samples, g.n_assessors))
    cell[lay.cell_sample, lay.cell_assessor] = at.solution.cell
    felt = at.solution.mu + offset + np.outer(at.solution.tau, now.scale) + cell
    evening = sum(now.ratios.get(k, 0.0) for k in (SESSION, ASSESSOR_SESSION, ASSESSOR_SAMPLE))
    level = np.ones(g.n_samples)
    level[g.sample] = at.level_factor
    variance = at.squares * (evening + np.outer(level, now.noise))
    return Curve(
        estimate, felt[:, panel], now.scale[panel], variance[:, panel], ends.written[panel],
        ends.step,
    )  # fmt: skip
