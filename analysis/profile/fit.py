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
from functools import cached_property

import numpy as np

from analysis.array_types import Matrix, Vector
from analysis.errors import FitError
from analysis.newton import step_above_zero
from analysis.profile.layout import sums
from analysis.profile.moments import Moments
from analysis.profile.noises import LESS_KNOWN, Residuals, better_noise
from analysis.profile.pace import Pace
from analysis.profile.parameters import Levels, Parameters, Problem, first_guess
from analysis.profile.slips import Moderated, moderate
from analysis.profile.slopes import slopes
from analysis.profile.system import Solution, System
from analysis.profile.terms import FILLING, SAMPLE

MAX_ROUNDS = 150
TOLERANCE = 0.03
TOLERANCE_LARGE = 1.4
"""Of a large panel, whose standard errors are small against anything that is decided on them."""
_CUT_LEVELS_AT = 2
"""Round at which the samples are sorted into bins of the level: by then they are roughly known."""
_LEAST_IN_LEVEL = 40
"""Glasses in a bin below which its noise is not estimated."""
_NOISE_SLACK = 4.0
_MOST_LOST = 0.8
_LONGEST = 0.5
"""Furthest that a scale moves in one round."""
_MODERATIONS = 3
_MODERATIONS_FIRST = 15
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

    @cached_property
    def scale_pull(self) -> Vector:
        """Slope of the log-likelihood over each assessor's scale, ``sum w E[tau e]``."""
        lay, sys, moments = self.problem.layout, self.system, self.moments
        g = lay.glasses
        pull = sys.weight / self.squares * self.solution.tau[g.sample] * self.solution.left
        cell = lay.meeting_cell
        shared = moments.tau_with_rest + sys.cell_scale[cell] * moments.cell_tau[cell]
        lost = sums(lay.meeting_assessor, sys.meeting_weight * shared, g.n_assessors)
        found: Vector = self.problem.by_assessor(pull) - lost
        return found

    @cached_property
    def scale_information(self) -> Vector:
        """Information on each scale, were the samples known: ``sum E[tau^2]`` by cell.

        Each cell counts with what its lasting disagreement leaves of its glasses.
        """
        lay, sys = self.problem.layout, self.system
        squared = self.solution.tau**2 / self.squares + self.moments.tau_variance
        known = sys.cell_weight * sys.kept * squared[lay.cell_sample]
        return sums(lay.cell_assessor, known, self.problem.n_assessors)


@dataclass(frozen=True)
class Fit:
    """A fit that settled.

    Attributes
    ----------
    at
        What its last round found.
    better
        The parameters that round would go on with.
    """

    at: Evaluation
    better: Parameters
    rounds: int


@dataclass(frozen=True)
class _Change:
    """How far one round moved.

    Attributes
    ----------
    gain
        Promised gain in deviance.
    scale
        By how much the scale of each assessor moved.
    errors
        The furthest that any scale moved in its own standard errors, or any log noise in
        several of its own: estimates hardly depend on it.
    """

    gain: float
    scale: Vector
    errors: float


class NotSettledError(FitError):
    """A fit that still moves after all rounds; `assessor` is the code of whose scale does."""

    def __init__(self, change: _Change | None) -> None:
        self.assessor: int | None = None
        if change is not None and np.max(change.scale) > _STILL:
            self.assessor = int(np.argmax(change.scale))
        super().__init__(f"the fit did not settle in {MAX_ROUNDS} rounds")


def fit_descriptor(
    problem: Problem,
    start: Parameters | None = None,
    tau: Vector | None = None,
    *,
    tolerance: float = TOLERANCE,
) -> Fit:
    """Fit one descriptor.

    Parameters
    ----------
    problem
        Scores and model.
    start, tau
        Parameters and samples of an earlier fit to start from.
    tolerance
        A fit has settled when a round would move nothing by more than so many of its standard
        errors. A plain model is always fitted to the last digits.

    Raises
    ------
    NotSettledError
        If the fit does not settle; with what still moves.
    """
    now = start or first_guess(problem)
    levels, moderated = Levels.none(len(problem.y)), problem.y
    if start is not None and len(start.level_edges):
        level = _rough_level(problem) if tau is None else tau
        levels = Levels.cut(level[problem.layout.glasses.sample], start.level_edges)
    change, pace = None, Pace()
    for round_ in range(1, MAX_ROUNDS + 1):
        times = _MODERATIONS_FIRST if round_ == 1 else _MODERATIONS
        at = _evaluate(problem, now, levels, moderated, times)
        levels = _levels(at, round_)
        new, change = _improve(at, levels)
        if _settled(problem, change, tolerance) and levels is at.levels and _may_stop(at, round_):
            return Fit(at, new, round_)
        now = new if problem.settings.plain else pace.of(now, new)
        if at.moderated is not None:
            moderated = problem.y - at.raw_left + at.moderated.left
    raise NotSettledError(change)


def _rough_level(problem: Problem) -> Vector:
    """Mean score of each sample above those of the blocks it was in."""
    lay = problem.layout
    n = np.bincount(lay.block, minlength=lay.n_blocks)
    above = problem.y - (sums(lay.block, problem.y, lay.n_blocks) / n)[lay.block]
    sample, size = lay.glasses.sample, lay.glasses.n_samples
    found: Vector = sums(sample, above, size) / np.bincount(sample, minlength=size)
    return found


def _settled(problem: Problem, change: _Change, tolerance: float) -> bool:
    if problem.settings.plain:
        return change.gain <= 1e-16 * len(problem.y)
    return change.gain < tolerance**2 and change.errors < tolerance


def _may_stop(at: Evaluation, round_: int) -> bool:
    return round_ > _CUT_LEVELS_AT or at.levels.count > 1 or at.problem.settings.plain


def _evaluate(
    problem: Problem, now: Parameters, levels: Levels, start: Vector, times: int
) -> Evaluation:
    lay = problem.layout
    assessor = lay.glasses.assessor
    factor = np.ones(len(problem.y))
    if levels.count == len(now.level_noise):
        factor = now.level_noise[levels.code]
    weight = 1.0 / (now.noise[assessor] * factor)
    system = System(lay, problem.covariates, now.ratios, now.scale, weight, single=problem.single)
    moments = Moments(system)
    uncertain = moments.fitted_variance[lay.meeting]
    y, found = start, None
    for _ in range(times):
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
    problem, now = at.problem, at.parameters
    ratios, gain = _ratios(at)
    scale, mean = _scale(at)
    ratios = {k: v * mean**2 if k in (SAMPLE, FILLING) else v for k, v in ratios.items()}
    noise = better_noise(_residuals(at), now, problem.settings, levels)
    new = Parameters(
        ratios, at.squares, scale, noise.noise, noise.spread, levels.edges, noise.level_noise
    )
    moved = np.abs(scale - now.scale)
    n = problem.by_assessor(np.ones(len(problem.y)))
    noise_moved = np.abs(np.log(noise.noise / now.noise)) * np.sqrt(2.0 * n) / _NOISE_SLACK
    scale_moved = moved * np.sqrt(at.scale_information + 1.0)
    return new, _Change(gain, moved, float(max(noise_moved.max(), scale_moved.max())))


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
    new = np.clip(now + step_above_zero(now, gradient, hessian), least, 4.0 * now + 0.1)
    return dict(zip(names, new.tolist(), strict=True)), float(gradient @ (now - new))


def _scale(at: Evaluation) -> tuple[Vector, float]:
    """Scales after one step, and the factor their mean was brought back to one by.

    All scales up and all samples down changes nothing: that part of the step is left to the
    variances, and what the mean over the panel is divided by the samples are multiplied with.
    """
    settings, now = at.problem.settings, at.parameters.scale
    if settings.equal_scale:
        return now, 1.0
    panel, prior = at.problem.panel, 1.0 / settings.scale_sd**2
    pull = at.scale_pull + prior * (1.0 - now)
    pull[panel] -= prior * np.sum(now * (1.0 - now)) / np.sum(now[panel])
    weight = at.scale_information + prior
    root = np.sqrt(weight)
    lost, along = np.linalg.eigh(_muddled(at) / np.outer(root, root))
    lost = np.minimum(LESS_KNOWN * lost, _MOST_LOST)
    step = (along @ ((along.T @ (pull / root)) / (1.0 - lost))) / root
    step -= now * np.sum(weight * now * step) / np.sum(weight * now**2)
    step *= min(1.0, _LONGEST / max(float(np.max(np.abs(step))), _LONGEST))
    mean = float(np.mean(now[panel] + step[panel]))
    return (now + step) / mean, mean


def _muddled(at: Evaluation) -> Matrix:
    """Information on the scales that is lost because the samples are estimated too.

    ``sum_i E[tau_i^2] var(tau_i) (g_j W_ij) (g_k W_ik)`` (Louis 1982): what a change of one scale
    does to another by way of the samples. An expectation step that left it out would creep.
    """
    lay, sys, moments = at.problem.layout, at.system, at.moments
    by_cell = sys.cell_scale * sys.cell_weight * sys.kept / np.sqrt(at.squares)
    squared = at.solution.tau**2 + at.squares * moments.tau_variance
    by_cell = by_cell * np.sqrt(squared * moments.tau_variance)[lay.cell_sample]
    table = np.zeros((sys.n, at.problem.n_assessors))
    table[lay.cell_sample, lay.cell_assessor] = by_cell
    found: Matrix = table.T @ table
    return found


def _residuals(at: Evaluation) -> Residuals:
    moderated = at.moderated
    return Residuals(
        assessor=at.problem.layout.glasses.assessor,
        n_assessors=at.problem.n_assessors,
        left=at.solution.left if moderated is None else moderated.left,
        raw_left=at.raw_left,
        weight=None if moderated is None else moderated.weight,
        uncertain=at.fitted_variance,
        level_factor=at.level_factor,
        squares=at.squares,
    )
