"""What is estimated from all the scores of a descriptor together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..array_types import Codes, Matrix, Vector
from ..order import moved
from .ends import HIGH_END, LOW_END, Ends, ReadAs
from .layout import ModelLayout, sums
from .settings import ProfileSettings
from .terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    ASSESSOR_SESSION,
    FILLING,
    SAMPLE,
    SESSION,
)

MOSTLY_ZERO = 0.4
NEARLY_ALL_ZERO = 0.8
"""Share of zeros above which assessors are not told apart: see `Problem.held_equal`."""
MOST_RATIO = 1e6
"""Most that the variance of a term may be over the noise: where few glasses leave nothing that
noise could be told by, the equations would lose their digits."""
SINGLE_FROM = 600
"""Samples from which large matrices are held in single precision."""
_FIRST_RATIO = 0.1
_LEAST_RATIO = 0.01
_LEAST_NOISE = 1e-3


@dataclass(frozen=True)
class FitProblem:
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
    order
        What each glass has of place and of smoke before it, (glasses, 2); 0 where nothing is
        known.
    """

    layout: ModelLayout
    y: Vector
    covariates: Matrix
    terms: tuple[str, ...]
    panel: Codes
    order: Matrix
    settings: ProfileSettings

    @property
    def degrees(self) -> float | None:
        """Degrees of freedom of the noise; None where no score may be taken for a slip.

        Of a note that most glasses lack, the few scores above zero are the news.
        """
        if self.zeros > MOSTLY_ZERO:
            return None
        return self.settings.degrees

    @cached_property
    def reading(self) -> ReadAs:
        """How its scores are read."""
        settings = self.settings
        if not settings.ends_of_the_line or settings.plain or settings.fixed_samples:
            return ReadAs.AS_WRITTEN
        return ReadAs.of(self.y)

    @cached_property
    def ends(self) -> Ends | None:
        """Where the line ends; None where every score is taken at its word."""
        if self.reading is not ReadAs.BELOW:
            return None
        return Ends.of(self.y, self.layout.glasses.assessor)

    @cached_property
    def served(self) -> Matrix:
        """Columns of the order of serving that the model has terms for.

        A score at an end of the line is where it is whatever came before, unless it is read as
        beyond it.
        """
        settings = self.settings
        if not settings.order or settings.plain or settings.fixed_samples:
            return self.order[:, :0]
        x = self.order
        if self.ends is None:
            x, _ = moved(self.y, x, np.full_like(self.y, LOW_END), np.full_like(self.y, HIGH_END))
        return x if x.any() else x[:, :0]

    @property
    def zeros(self) -> float:
        """Share of the scores that are 0."""
        return float(np.mean(self.y == 0.0))

    @property
    def held_equal(self) -> FitProblem:
        """The same with one scale and one noise for all.

        Of a note that hardly any glass has, nearly all residuals are exactly nothing. The noise
        follows them to zero, and then the few scores above it seem to tell everybody's scale to
        the last digit: scales wander, or settle anywhere between 0 and 3.
        """
        return replace(self, settings=replace(self.settings, equal_scale=True, equal_noise=True))

    @property
    def single(self) -> bool:
        """Whether single precision will do: not to tell covariates apart, or to compare fits."""
        large = self.layout.glasses.n_samples >= SINGLE_FROM
        return large and not self.settings.plain and not self.covariates.shape[1]

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
    slips
        Share of glasses that are slips, where scores at the ends are read as such.
    """

    ratios: Mapping[str, float]
    squares: float
    scale: Vector
    noise: Vector
    spread: Vector
    level_edges: Vector
    level_noise: Vector
    slips: float = 0.0

    def about_typical(self, assessor: Codes) -> Parameters:
        """The same with the noise of the typical assessor moved into `squares`."""
        weights = np.bincount(assessor, minlength=len(self.noise))
        typical = float(np.exp(np.average(np.log(self.noise), weights=weights)))
        ratios = {name: ratio / typical for name, ratio in self.ratios.items()}
        noise, squares = self.noise / typical, self.squares * typical
        return replace(self, ratios=ratios, noise=noise, squares=squares)


def first_guess(problem: FitProblem) -> Parameters:
    """Where a fit starts that knows nothing: moments of block means and sample means.

    Rough on purpose; all it has to do is save rounds.
    """
    lay, y = problem.layout, problem.y
    g = lay.glasses
    above = y - _means(lay.block, y, lay.n_blocks)[lay.block]
    level = _means(g.sample, above, g.n_samples)
    heard = level[g.sample]
    left = above - heard
    squares = max(float(np.mean(left**2)), _LEAST_NOISE * float(np.var(y)))
    scale, noise = np.ones(problem.n_assessors), np.ones(problem.n_assessors)
    if not problem.settings.equal_scale:
        scale = _scales(problem, above, heard)
        left = above - scale[g.assessor] * heard
    if not problem.settings.equal_noise:
        noise = _noises(problem, left)
    return Parameters(
        ratios=_ratios(problem, level, squares),
        squares=squares,
        scale=scale,
        noise=noise,
        spread=squares * noise,
        level_edges=np.empty(0),
        level_noise=np.ones(1),
    )


def _ratios(problem: FitProblem, level: Vector, squares: float) -> dict[str, float]:
    """Variance of each term over the noise, from the spread of plain means."""
    lay, y = problem.layout, problem.y
    g = lay.glasses
    between = max(float(np.var(level)) - squares / (g.n / g.n_samples), _FIRST_RATIO * squares)
    of_assessors = float(np.var(_means(g.assessor, y, g.n_assessors)))
    of_sessions = float(np.var(_means(g.session, y, g.n_sessions)))
    guess = {
        SAMPLE: between if FILLING not in problem.terms else 0.5 * between,
        FILLING: 0.5 * between,
        ASSESSOR: of_assessors,
        SESSION: 0.3 * of_sessions,
        ASSESSOR_SESSION: 0.1 * squares,
        ASSESSOR_SAMPLE: 0.2 * squares,
    }
    return {name: max(guess[name] / squares, _LEAST_RATIO) for name in problem.terms}


def _scales(problem: FitProblem, above: Vector, heard: Vector) -> Vector:
    """Slope of each assessor's scores on the samples' means, drawn half way to one."""
    slope = problem.by_assessor(above * heard) / np.maximum(problem.by_assessor(heard**2), 1e-12)
    mean = max(float(slope[problem.panel].mean()), 0.1)
    scale = 1.0 + 0.7 * (slope / mean - 1.0)
    found: Vector = scale / scale[problem.panel].mean()
    return found


def _noises(problem: FitProblem, left: Vector) -> Vector:
    n = problem.by_assessor(np.ones(len(left)))
    weight = problem.settings.noise_weight
    noise = (problem.by_assessor(left**2) + weight * float(np.mean(left**2))) / (n + weight)
    if float(noise.max()) <= 0.0:  # all agree to the last digit: nobody is steadier than another
        return np.ones_like(noise)
    noise = np.maximum(noise, 1e-6 * float(noise.max()))
    found: Vector = noise / np.exp(np.average(np.log(noise), weights=n))
    return found


def _means(codes: Codes, values: Vector, size: int) -> Vector:
    found: Vector = sums(codes, values, size) / np.bincount(codes, minlength=size)
    return found


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

    def factor(self, now: Parameters) -> Vector:
        """Factor of the noise variance of each glass; one where the bins are new."""
        if self.count != len(now.level_noise):
            return np.ones(len(self.code))
        found: Vector = now.level_noise[self.code]
        return found
