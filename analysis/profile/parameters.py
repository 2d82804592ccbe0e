"""What is estimated from all the scores of a descriptor together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from analysis.profile.layout import Codes, Layout, Matrix, Vector, sums
from analysis.profile.settings import ProfileSettings

MOSTLY_ZERO = 0.4
_FIRST_RATIO = 0.3
_FIRST_NOISE = 0.4
"""Share of the variance of all scores that noise is taken for at first."""


@dataclass(frozen=True)
class Problem:
    """Scores of one descriptor and the model they are to be fitted with.

    Attributes
    ----------
    y
        Score of each glass.
    covariates
        Columns of ``x``, shape (samples, p).
    terms
        Names of the random terms.
    panel
        Codes of the standing panel.
    """

    layout: Layout
    y: Vector
    covariates: Matrix
    terms: tuple[str, ...]
    panel: Codes
    settings: ProfileSettings

    @property
    def degrees(self) -> float | None:
        """Degrees of freedom of the noise; None where no score may be taken for a slip.

        Of a note that most glasses lack, the few scores above zero are the news.
        """
        if float(np.mean(self.y == 0.0)) > MOSTLY_ZERO:
            return None
        return self.settings.degrees

    @property
    def n_assessors(self) -> int:
        """Number of assessors."""
        return self.layout.glasses.n_assessors

    def by_assessor(self, values: Vector) -> Vector:
        """Sum one number a glass over the glasses of each assessor."""
        return sums(self.layout.glasses.assessor, values, self.n_assessors)


@dataclass(frozen=True)
class Parameters:
    """Variances, scales and noises.

    Attributes
    ----------
    ratios
        Variance of each term over `squares`.
    squares
        Noise variance of the typical assessor, ``s^2``.
    scale
        ``g`` of each assessor.
    noise
        Noise variance of each assessor over `squares`; the geometric mean over glasses is 1.
    spread
        Squared scale of each assessor's Student distribution, in squared points.
    level_edges
        Where the bins of the level meet, in points about the mean sample; empty without bins.
    level_noise
        Factor of the noise variance in each bin.
    """

    ratios: Mapping[str, float]
    squares: float
    scale: Vector
    noise: Vector
    spread: Vector
    level_edges: Vector
    level_noise: Vector


def first_guess(problem: Problem) -> Parameters:
    """Where a fit starts that knows nothing."""
    n = problem.n_assessors
    squares = _FIRST_NOISE * float(np.var(problem.y))
    return Parameters(
        ratios=dict.fromkeys(problem.terms, _FIRST_RATIO),
        squares=squares,
        scale=np.ones(n),
        noise=np.ones(n),
        spread=np.full(n, squares),
        level_edges=np.empty(0),
        level_noise=np.ones(1),
    )


@dataclass(frozen=True)
class Levels:
    """Bin of each glass by the level of its sample."""

    code: Codes
    edges: Vector

    @classmethod
    def none(cls, n_glasses: int) -> Levels:
        """One bin for all."""
        return cls(np.zeros(n_glasses, dtype=np.intp), np.empty(0))

    @classmethod
    def cut(cls, level: Vector, edges: Vector) -> Levels:
        """Bins of given edges; `level` of each glass."""
        return cls(np.searchsorted(edges, level, side="right").astype(np.intp), edges)

    @property
    def count(self) -> int:
        """Number of bins."""
        return len(self.edges) + 1
