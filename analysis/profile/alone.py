"""One descriptor on its own: from its scores to estimates, people and what the next stage needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from analysis.array_types import Codes, Matrix, Vector
from analysis.errors import FitError
from analysis.profile.coarse import WORTH_IT, first_look
from analysis.profile.fit import (
    MAX_ROUNDS,
    TOLERANCE,
    TOLERANCE_LARGE,
    Evaluation,
    Fit,
    NotSettledError,
    fit_descriptor,
)
from analysis.profile.layout import Glasses, Layout
from analysis.profile.parameters import MOSTLY_ZERO, NEARLY_ALL_ZERO, Parameters, Problem
from analysis.profile.people import (
    People,
    disagreement_variance,
    people,
    reliability,
    signal_variance,
)
from analysis.profile.predict import Prediction, predict
from analysis.profile.settings import ProfileSettings
from analysis.profile.slopes import Scores
from analysis.profile.terms import SAMPLE, Terms, choose_terms

_LEAST_RELIABILITY = 0.02
_WORTH = 4.0
"""Glasses that what all found samples show counts for beside a sample's own."""


@dataclass(frozen=True)
class Column:
    """Scores of one descriptor, and what is known of the samples.

    Attributes
    ----------
    glasses
        The scored glasses; codes without gaps.
    y
        Score of each.
    covariates
        Columns of ``x`` by sample, shape (samples, p).
    panel
        Codes of the standing panel.
    start, tau
        Parameters and samples of an earlier fit.
    """

    glasses: Glasses
    y: Vector
    covariates: Matrix
    panel: Codes
    start: Parameters | None = None
    tau: Vector | None = None


@dataclass(frozen=True)
class Alone:
    """What one descriptor's fit says; `reason` where there was none.

    Attributes
    ----------
    estimate, variance, common, fixed
        See :class:`analysis.profile.predict.Prediction`; variances widened by `inflation`.
    moving
        Code of the assessor whose scale did not settle.
    told, noise
        What the scores alone say of each sample's deviation, and its noise variance.
    between
        Variance between samples that covariates do not explain, disagreement with it.
    """

    left_out: Mapping[str, str]
    reason: str | None = None
    moving: int | None = None
    estimate: Vector = field(default_factory=lambda: np.empty(0))
    variance: Vector = field(default_factory=lambda: np.empty(0))
    common: float = np.nan
    fixed: Vector = field(default_factory=lambda: np.empty(0))
    told: Vector = field(default_factory=lambda: np.empty(0))
    noise: Vector = field(default_factory=lambda: np.empty(0))
    between: float = np.nan
    inflation: float = 1.0
    variances: Mapping[str, float] = field(default_factory=dict)
    log_likelihood: float | None = None
    reliability: float | None = None
    signal: float | None = None
    gamma: Vector = field(default_factory=lambda: np.empty(0))
    gamma_covariance: Matrix = field(default_factory=lambda: np.empty((0, 0)))
    tau: Vector = field(default_factory=lambda: np.empty(0))
    parameters: Parameters | None = None
    people: People | None = None
    rounds: int = 0


def fit_alone(column: Column, settings: ProfileSettings) -> Alone:
    """Fit one descriptor; a fit that cannot be had is a reason, not an error."""
    terms, reason = _terms(column, settings)
    if reason is not None:
        return Alone(terms.left_out, reason)
    layout = column.glasses.layout
    covariates = _fixed(layout) if settings.fixed_samples else column.covariates
    problem = Problem(layout, column.y, covariates, terms.names, column.panel, settings)
    try:
        found, terms = _settled(problem, column, terms)
    except NotSettledError as error:
        return Alone(terms.left_out, str(error), moving=error.assessor, rounds=MAX_ROUNDS)
    except FitError as error:
        return Alone(terms.left_out, str(error))
    return _described(found, terms)


def _settled(problem: Problem, column: Column, terms: Terms) -> tuple[Fit, Terms]:
    """The fit; with scales and noises held equal where zeros leave nothing to tell them by."""
    start = _carried(column.start, terms) or first_look(problem)
    tolerance = TOLERANCE_LARGE if problem.layout.glasses.n_samples >= WORTH_IT else TOLERANCE
    if problem.zeros <= NEARLY_ALL_ZERO or problem.settings.plain:
        try:
            return fit_descriptor(problem, start, column.tau, tolerance=tolerance), terms
        except NotSettledError:
            if problem.zeros <= MOSTLY_ZERO or problem.settings.plain:
                raise
    found = fit_descriptor(problem.held_equal, tolerance=tolerance)
    return found, _with_held(terms, problem)


def _with_held(terms: Terms, problem: Problem) -> Terms:
    above, n = int(np.sum(problem.y > 0.0)), len(problem.y)
    why = (
        f"held equal for all: only {above} of {n} scores lie above 0, too few to tell people "
        "apart by; look at those glasses one by one"
    )
    return Terms(terms.names, {**terms.left_out, "scale": why, "noise": why})


def _terms(column: Column, settings: ProfileSettings) -> tuple[Terms, str | None]:
    if not len(column.panel):
        return Terms((), {}), "nobody of the standing panel scored it"
    if np.ptp(column.y) == 0.0:
        return Terms((), {}), f"every score is the same ({column.y[0]:g})"
    terms = choose_terms(column.glasses.layout, fixed_samples=settings.fixed_samples)
    if SAMPLE not in terms.names and not settings.fixed_samples:
        reason = "no sample was scored twice, so noise cannot be told from difference"
        return terms, reason
    return terms, None


def _fixed(layout: Layout) -> Matrix:
    """Columns that give each sample but the first a mean of its own."""
    found: Matrix = np.eye(layout.glasses.n_samples)[:, 1:]
    return found


def _carried(start: Parameters | None, terms: Terms) -> Parameters | None:
    """An earlier fit, if it had the same terms."""
    if start is None or set(start.ratios) != set(terms.names):
        return None
    return start


def _described(found: Fit, terms: Terms) -> Alone:
    at = found.at
    problem, settings = at.problem, at.problem.settings
    prediction = predict(at.system, at.solution, problem.panel, at.squares)
    between = _between(at)
    told, noise = _told(prediction, between)
    inflation = _inflation(at) if settings.inflate else 1.0
    gamma, gamma_covariance = _effects(at)
    return Alone(
        left_out=terms.left_out,
        estimate=prediction.estimate,
        variance=inflation * _as_noisy_as_found(at, prediction),
        common=inflation * prediction.common,
        fixed=prediction.fixed,
        told=told,
        noise=inflation * noise,
        between=between,
        inflation=inflation,
        variances={k: v * at.squares for k, v in at.parameters.ratios.items()},
        log_likelihood=at.log_likelihood if settings.plain else None,
        reliability=reliability(at, problem.panel),
        signal=signal_variance(at),
        gamma=gamma,
        gamma_covariance=gamma_covariance,
        tau=at.solution.tau,
        parameters=found.better,
        people=people(at, problem.panel),
        rounds=found.rounds,
    )


def _between(at: Evaluation) -> float:
    """Variance of a sample's deviation for the panel: its own and the mean disagreement."""
    if not at.system.has_samples:
        return 0.0
    shared = disagreement_variance(at) / len(at.problem.panel)
    return float(at.squares * at.system.samples.diagonal + shared)


def _told(prediction: Prediction, between: float) -> tuple[Vector, Vector]:
    """Undo the shrinkage: what the scores alone say, and its noise variance."""
    deviation = prediction.estimate - prediction.fixed
    if between <= 0.0:
        return np.full_like(deviation, np.nan), np.full_like(deviation, np.nan)
    own = np.maximum(prediction.variance - prediction.common, 0.0)
    known = np.clip(1.0 - own / between, _LEAST_RELIABILITY, 0.9999)
    return deviation / known, between * (1.0 - known) / known


def _inflation(at: Evaluation) -> float:
    """Mean squared standardised error of predicting each sample from all others, 1 at least."""
    if not at.system.has_samples:
        return 1.0
    score = Scores.of(at.system, at.solution).sample
    information = at.moments.left_out_information
    seen = information > 0.0
    return max(float(np.mean(score[seen] ** 2 / information[seen]) / at.squares), 1.0)


def _as_noisy_as_found(at: Evaluation, prediction: Prediction) -> Vector:
    """Error variances; of a note nearly always 0, wider where somebody found it.

    One noise for all is that of the zeros, which never waver. What is a sample's own of the
    error of those found is widened by as much as its residuals, and those of the other samples
    that somebody found, are larger.
    """
    problem, variance = at.problem, prediction.variance
    held = problem.settings.equal_noise and not problem.settings.plain
    if not held or problem.zeros <= MOSTLY_ZERO:
        return variance
    sample, n = problem.layout.glasses.sample, problem.layout.glasses.n_samples
    somebody = np.bincount(sample, problem.y > 0.0, minlength=n) > 0.0
    squared = (at.solution.left**2 + at.fitted_variance) / at.squares
    usual = float(np.mean(squared[somebody[sample]]))
    total = np.bincount(sample, squared, minlength=n) + _WORTH * usual
    wider = np.maximum(total / (np.bincount(sample, minlength=n) + _WORTH), 1.0)
    own = np.maximum(variance - prediction.common, 0.0)
    return np.where(somebody, prediction.common + wider * own, variance)


def _effects(at: Evaluation) -> tuple[Vector, Matrix]:
    """``gamma`` and its covariance."""
    p = at.system.p
    if p == 0:
        return np.empty(0), np.empty((0, 0))
    return at.solution.gamma, at.squares * at.system.gamma_covariance()
