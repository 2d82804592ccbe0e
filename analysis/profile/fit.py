"""The fit of one descriptor: variances by average information, the rest by expectation steps.

One round solves the equations at the present variances, then improves everything at once: the
variance ratios by a Newton step on the restricted likelihood, each assessor's scale and noise
and the noise of each level by the step of an expectation-maximisation (the missing data being
the effects), the moderated scores by their own fixed point.

Unless the model is plain, the deviance of the variance between samples carries ``-log`` of its
ratio, which keeps it off zero (Chung, Rabe-Hesketh, Dorie, Gelman & Liu 2013): a panel that is
too small to prove that samples differ has not proved them alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from analysis.errors import FitError
from analysis.profile.layout import Vector, sums
from analysis.profile.moments import Moments
from analysis.profile.newton import newton, slopes
from analysis.profile.pace import Pace
from analysis.profile.parameters import Levels, Parameters, Problem, first_guess
from analysis.profile.slips import Moderated, moderate
from analysis.profile.system import Solution, System
from analysis.profile.terms import SAMPLE

MAX_ROUNDS = 150
_CUT_LEVELS_AT = 4
"""Round at which the samples are sorted into bins of the level: by then they are roughly known."""
_LEAST_IN_LEVEL = 40
"""Glasses in a bin below which its noise is not estimated."""
_LEVEL_WEIGHT = 30.0
"""Glasses' worth of no difference that the noise of each level is mixed with."""
_MOST_UNLIKE = 9.0
"""Most that the noise variance of a bin may differ from the common one."""
_LEAST_SPREAD = 0.2
"""Least share of an assessor's variance that his ordinary scores make up."""
_MODERATIONS = 3
_STILL = 1e-2
_NEAR_ZERO = 1e-3


@dataclass(frozen=True)
class Evaluation:
    """Everything known at one set of parameters."""

    problem: Problem
    parameters: Parameters
    levels: Levels
    level_factor: Vector
    system: System
    moments: Moments
    solution: Solution
    squares: float
    raw_left: Vector
    fitted_variance: Vector
    moderated: Moderated | None

    @property
    def log_likelihood(self) -> float:
        """Restricted log-likelihood of the scores as they were fitted."""
        spread = 1.0 + np.log(2.0 * np.pi * self.squares)
        return -0.5 * (self.system.log_determinant + self.system.degrees * float(spread))

    @property
    def scale_information(self) -> tuple[Vector, Vector]:
        """Of each assessor ``sum w E[tau r]`` and ``sum w E[tau^2]``: his scale is their ratio.

        ``r`` is the score less everything but ``g tau``.
        """
        lay, sys, moments = self.problem.layout, self.system, self.moments
        g = lay.glasses
        tau = self.solution.tau[g.sample]
        rest = self.solution.left + self.parameters.scale[g.assessor] * tau
        weight = sys.weight / self.squares
        muddled = sys.meeting_weight * moments.tau_with_rest
        certain = sys.meeting_weight * moments.tau_variance[lay.meeting_sample]
        n = g.n_assessors
        return (
            self.problem.by_assessor(weight * tau * rest) - sums(lay.meeting_assessor, muddled, n),
            self.problem.by_assessor(weight * tau**2) + sums(lay.meeting_assessor, certain, n),
        )


@dataclass(frozen=True)
class Fit:
    """A fit that settled, and after how many rounds."""

    at: Evaluation
    rounds: int


@dataclass(frozen=True)
class _Change:
    """How far one round moved: the promised gain in deviance, scales and log noises."""

    gain: float
    scale: Vector
    noise: Vector

    def settled(self, problem: Problem) -> bool:
        """Whether the next round would change nothing that matters."""
        if problem.settings.plain:
            return self.gain <= 1e-16 * len(problem.y)
        return bool(self.gain < 1e-3 and np.max(self.scale) < 2e-3 and np.max(self.noise) < 1e-2)


class NotSettledError(FitError):
    """A fit that still moves after all rounds; `assessor` is the code of whose scale does."""

    def __init__(self, change: _Change | None) -> None:
        self.assessor: int | None = None
        if change is not None and np.max(change.scale) > _STILL:
            self.assessor = int(np.argmax(change.scale))
        super().__init__(f"the fit did not settle in {MAX_ROUNDS} rounds")


def fit_descriptor(
    problem: Problem, start: Parameters | None = None, tau: Vector | None = None
) -> Fit:
    """Fit one descriptor.

    Parameters
    ----------
    problem
        Scores and model.
    start, tau
        Parameters and samples of an earlier fit to start from.

    Raises
    ------
    NotSettledError
        If the fit does not settle; with what still moves.
    """
    now = start or first_guess(problem)
    levels, moderated = Levels.none(len(problem.y)), problem.y
    if start is not None and tau is not None and len(start.level_edges):
        levels = Levels.cut(tau[problem.layout.glasses.sample], start.level_edges)
    change, pace = None, Pace()
    for round_ in range(1, MAX_ROUNDS + 1):
        at = _evaluate(problem, now, levels, moderated)
        levels = _levels(at, round_)
        new, change = _improve(at, levels)
        if change.settled(problem) and levels is at.levels and _may_stop(at, round_):
            return Fit(at, round_)
        now = new if problem.settings.plain else pace.of(now, new)
        if at.moderated is not None:
            moderated = problem.y - at.raw_left + at.moderated.left
    raise NotSettledError(change)


def _may_stop(at: Evaluation, round_: int) -> bool:
    return round_ > _CUT_LEVELS_AT or at.levels.count > 1 or at.problem.settings.plain


def _evaluate(problem: Problem, now: Parameters, levels: Levels, start: Vector) -> Evaluation:
    lay = problem.layout
    assessor = lay.glasses.assessor
    factor = np.ones(len(problem.y))
    if levels.count == len(now.level_noise):
        factor = now.level_noise[levels.code]
    weight = 1.0 / (now.noise[assessor] * factor)
    system = System(lay, problem.covariates, now.ratios, now.scale, weight)
    moments = Moments(system)
    uncertain = moments.fitted_variance[lay.meeting]
    y, found = start, None
    for _ in range(_MODERATIONS):
        solution = system.solve(y)
        squares = solution.squares / system.degrees
        raw_left = problem.y - y + solution.left
        if problem.degrees is None:
            break
        spread = now.spread[assessor] * factor
        found = moderate(raw_left, squares * uncertain, spread, problem.degrees)
        before, y = y, problem.y - raw_left + found.left
        if np.max(np.abs(y - before)) < 0.02 * np.sqrt(squares):
            break
    return Evaluation(
        problem, now, levels, factor, system, moments, solution, squares, raw_left,
        squares * uncertain, found,
    )  # fmt: skip


def _levels(at: Evaluation, round_: int) -> Levels:
    """Bins of the level, cut once the samples are roughly known."""
    problem, now = at.problem, at.parameters
    wanted = 1 if problem.settings.equal_noise else problem.settings.noise_levels
    if at.levels.count > 1 or wanted == 1 or len(problem.y) < wanted * _LEAST_IN_LEVEL:
        return at.levels
    level = at.solution.tau[problem.layout.glasses.sample]
    if len(now.level_edges):
        return Levels.cut(level, now.level_edges)
    if round_ < _CUT_LEVELS_AT:
        return at.levels
    edges = np.unique(np.quantile(level, np.arange(1, wanted) / wanted))
    found = Levels.cut(level, edges)
    enough = np.bincount(found.code, minlength=found.count).min() >= _LEAST_IN_LEVEL
    return found if enough else at.levels


def _improve(at: Evaluation, levels: Levels) -> tuple[Parameters, _Change]:
    """One step for every parameter, and how far it goes."""
    now = at.parameters
    ratios, gain = _ratios(at)
    scale = _scale(at)
    noise, spread, level_noise = _noise(at, levels)
    new = Parameters(ratios, at.squares, scale, noise, spread, levels.edges, level_noise)
    moved = np.abs(np.log(noise / now.noise))
    return new, _Change(gain, np.abs(scale - now.scale), moved)


def _ratios(at: Evaluation) -> tuple[Mapping[str, float], float]:
    """Newton step of the variance ratios, kept within bounds, and the gain it promises."""
    names = list(at.parameters.ratios)
    now = np.array(list(at.parameters.ratios.values()))
    found = slopes(at.system, at.solution, at.moments)
    gradient, hessian = found.gradient.copy(), found.hessian.copy()
    least = np.where(now < _NEAR_ZERO, 0.0, now / 8.0)
    if SAMPLE in names and not at.problem.settings.plain:
        k = names.index(SAMPLE)
        gradient[k] -= 1.0 / now[k]
        hessian[k, k] += 1.0 / now[k] ** 2
        least[k] = now[k] / 8.0
    free = (now > 0.0) | (gradient < 0.0)
    step = np.zeros_like(now)
    if free.any():
        step[free] = newton(gradient[free], hessian[np.ix_(free, free)])
    new = np.clip(now + step, least, 4.0 * now + 0.1)
    return dict(zip(names, new.tolist(), strict=True)), float(gradient @ (now - new))


def _scale(at: Evaluation) -> Vector:
    """Best scales, the mean over the standing panel held at one."""
    settings, panel = at.problem.settings, at.problem.panel
    if settings.equal_scale:
        return at.parameters.scale
    weighted, information = at.scale_information
    prior = 1.0 / settings.scale_sd**2
    weighted, information = weighted + prior, information + prior
    best = weighted / information
    excess = np.sum(best[panel] - 1.0) / np.sum(1.0 / information[panel])
    best[panel] -= excess / information[panel]
    return best


def _noise(at: Evaluation, levels: Levels) -> tuple[Vector, Vector, Vector]:
    """Noise and spread of each assessor, and noise of each level."""
    problem, now, settings = at.problem, at.parameters, at.problem.settings
    n = problem.by_assessor(np.ones(len(problem.y)))
    squared = at.solution.left**2 + at.fitted_variance
    spread = now.spread
    if at.moderated is not None:
        squared = at.moderated.left**2 + at.fitted_variance
        student = at.moderated.weight * (at.raw_left**2 + at.fitted_variance) / at.level_factor
        spread = _mixed(problem.by_assessor(student), n, settings.noise_weight)
        raw = problem.by_assessor((at.raw_left**2 + at.fitted_variance) / at.level_factor)
        spread = np.maximum(spread, _LEAST_SPREAD * _mixed(raw, n, settings.noise_weight))
    if settings.equal_noise:
        return now.noise, np.full_like(spread, np.average(spread, weights=n)), np.ones(1)
    noise = _mixed(problem.by_assessor(squared / at.level_factor), n, settings.noise_weight)
    factor = _level_noise(levels, squared / noise[problem.layout.glasses.assessor])
    return noise / np.exp(np.average(np.log(noise), weights=n)), spread, factor


def _mixed(totals: Vector, n: Vector, weight: float) -> Vector:
    """Mean of each, mixed with the mean of all."""
    found: Vector = (totals + weight * totals.sum() / n.sum()) / (n + weight)
    return found


def _level_noise(levels: Levels, squared: Vector) -> Vector:
    count = levels.count
    if count == 1:
        return np.ones(1)
    n = np.bincount(levels.code, minlength=count)
    total = sums(levels.code, squared, count)
    factor = (total + _LEVEL_WEIGHT) / (n + _LEVEL_WEIGHT)
    factor = np.clip(factor, 1.0 / _MOST_UNLIKE, _MOST_UNLIKE)
    found: Vector = factor / np.exp(np.average(np.log(factor), weights=n))
    return found
