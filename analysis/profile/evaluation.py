"""Everything that is known at one set of parameters: one round of a fit, before its step."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..array_types import Vector
from .ends import Ends
from .equations import Equations, SecondMoments, Solution
from .followed import OwnSample, followed
from .layout import sums
from .parameters import FitProblem, Levels, Parameters
from .serving import Serving
from .sites import DAMPING, Fitted, Sites
from .slips import Moderated, moderate
from .terms import SAMPLE
from .ways import equations_of, goes_sparse


@dataclass(frozen=True)
class Taken:
    """Scores as a round takes them: slips moderated, or as pseudo-scores of some precision."""

    y: Vector
    sites: Sites | None = None


@dataclass(frozen=True)
class Evaluation:
    """Everything known at one set of parameters."""

    problem: FitProblem
    parameters: Parameters
    levels: Levels
    level_factor: Vector
    system: Equations
    moments: SecondMoments
    serving: Serving
    solution: Solution
    squares: float
    raw_left: Vector
    fitted_variance: Vector
    moderated: Moderated | None
    sites: Sites | None = None

    @property
    def taken(self) -> Taken:
        """How the next round takes the scores."""
        if self.sites is not None:
            return Taken(self.sites.score, self.sites)
        if self.moderated is not None:
            return Taken(self.problem.y - self.raw_left + self.moderated.left)
        return Taken(self.problem.y)

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
        shared = sys.meeting_weight * moments.tau_with_fitted
        lost = sums(lay.meeting_assessor, shared, g.n_assessors)
        lost += self.problem.by_assessor(sys.weight * self.serving.tau_with_fitted)
        found: Vector = self.problem.by_assessor(pull) - lost
        return found

    @cached_property
    def tau_variance(self) -> Vector:
        """Variance of each sample, in units of ``s^2``."""
        found: Vector = self.moments.tau_variance + self.serving.tau_variance
        return found

    @property
    def left_out_information(self) -> Vector:
        """Inverse variance of predicting each sample from the rest (see `Moments`)."""
        shared = np.sum(self.serving.of_term(SAMPLE) ** 2, axis=1) if self.serving.along else 0.0
        found: Vector = self.moments.left_out_information - shared
        return found

    @cached_property
    def scale_information(self) -> Vector:
        """Information on each scale, were the samples known: ``sum E[tau^2]`` by cell.

        Each cell counts with what its lasting disagreement leaves of its glasses.
        """
        lay, sys = self.problem.layout, self.system
        squared = self.solution.tau**2 / self.squares + self.tau_variance
        known = sys.cell_weight * sys.kept * squared[lay.cell_sample]
        return sums(lay.cell_assessor, known, self.problem.n_assessors)


def evaluate(
    problem: FitProblem, now: Parameters, levels: Levels, taken: Taken, times: int
) -> Evaluation:
    """Solve at the present parameters; slips are moderated so many times at most."""
    if problem.ends is not None:
        return _evaluate_at_ends(problem, problem.ends, now, levels, taken)
    lay = problem.layout
    assessor = lay.glasses.assessor
    factor = levels.factor(now)
    weight = 1.0 / (now.noise[assessor] * factor)
    system, moments = equations_of(problem, now, weight)
    serving = Serving.of(system, problem.served, taken.y, now.squares)
    uncertain = moments.fitted_variance[lay.meeting] + serving.fitted_variance
    y, found = taken.y, None
    for _ in range(times):
        solution = serving.solve(y)
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
        problem, now, levels, factor, system, moments, serving, solution, squares, raw_left,
        squares * uncertain, found,
    )  # fmt: skip


def _evaluate_at_ends(
    problem: FitProblem, ends: Ends, now: Parameters, levels: Levels, taken: Taken
) -> Evaluation:
    """The same with a pseudo-score for each glass; ``s^2`` is held, they have no noise to tell."""
    lay, squares = problem.layout, now.squares
    noise = squares * now.noise[lay.glasses.assessor]
    sites = taken.sites or Sites.first(ends, problem.y, noise)
    sites = sites.at_noise(ends, noise)
    weight = squares * sites.precision
    system, moments = equations_of(problem, now, weight)
    serving = Serving.of(system, problem.served, sites.score, squares)
    solution = serving.solve(sites.score)
    uncertain = squares * (moments.fitted_variance[lay.meeting] + serving.fitted_variance)
    fitted = Fitted(sites.score - solution.left, uncertain, noise)
    better = sites.better(ends, problem.y, fitted, now.slips, DAMPING)
    if goes_sparse(problem):
        own = _own_samples(problem, now, moments, serving, solution)
        better = followed(better, sites, ends, problem.y, fitted, own, now.slips)
    return Evaluation(
        problem, now, levels, np.ones(len(noise)), system, moments, serving, solution, squares,
        problem.y - fitted.value, uncertain, None, better,
    )  # fmt: skip


def _own_samples(
    problem: FitProblem,
    now: Parameters,
    moments: SecondMoments,
    serving: Serving,
    solution: Solution,
) -> OwnSample:
    """The sample of each glass, in points."""
    lay, g = problem.layout, problem.layout.glasses
    variance = moments.tau_variance + serving.tau_variance
    with_tau = moments.tau_with_fitted[lay.meeting] + serving.tau_with_fitted
    along = with_tau / np.maximum(variance, 1e-300)[g.sample]
    scale = now.scale[g.assessor]
    return OwnSample(g.sample, scale, solution.tau, now.squares * variance, along)
