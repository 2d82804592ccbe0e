"""One descriptor on its own: from its scores to estimates, people and what the next stage needs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..array_types import Matrix, Vector
from ..digits import in_digits
from ..errors import FitError
from .begin import begun, tolerance_of
from .column import Alone, Column
from .curve import curve_of
from .ends import ReadAs
from .evaluation import Evaluation
from .fit import (
    MAX_ROUNDS,
    Fit,
    NotSettledError,
    fit_descriptor,
)
from .found import FoundOrNot
from .layout import ModelLayout
from .lines import OnTheLine, Straight
from .parameters import MOSTLY_ZERO, NEARLY_ALL_ZERO, FitProblem
from .people import (
    disagreement_variance,
    people,
    reliability,
    signal_variance,
)
from .predict import Prediction, predict
from .settings import ProfileSettings
from .slopes import Scores
from .terms import SAMPLE, Terms, choose_terms

_LEAST_RELIABILITY = 0.02
_WORTH = 4.0
"""Glasses that what all found samples show counts for beside a sample's own."""
_PLUGGED_IN = 8.0
"""What the errors lack where scores at the ends are read, in shares of one sample: variances,
scales, noises and cuts are taken for known. Set on made-up houses of 25 to 60 samples."""
_AT_THEIR_WORD = (
    "scores at the ends of the line are taken at their word: the fit that reads them as beyond it "
    "did not settle"
)


def fit_alone(column: Column, settings: ProfileSettings) -> Alone:
    """Fit one descriptor; a fit that cannot be had is a reason, not an error."""
    terms, reason = _terms(column, settings)
    if reason is not None:
        return Alone(terms.left_out, reason)
    layout = column.glasses.layout
    covariates = _fixed(layout) if settings.fixed_samples else column.covariates
    problem = FitProblem(
        layout, column.y, covariates, terms.names, column.panel, column.order, settings
    )
    if problem.reading is ReadAs.BELOW:
        try:
            return _described(*_read_at_ends(problem, column, terms))
        except FitError:
            as_written = replace(settings, ends_of_the_line=False)
            found = _as_written(replace(problem, settings=as_written), column, terms)
            why = _AT_THEIR_WORD if found.reason is None else None
            return replace(found, reading_reason=why)
    found = _as_written(problem, column, terms)
    return _counted(found, problem) if problem.reading is ReadAs.FOUND else found


def _read_at_ends(problem: FitProblem, column: Column, terms: Terms) -> tuple[Fit, Terms]:
    """The fit that reads scores at an end of the line as beyond it.

    Scales and noises are held equal where people cannot be told apart by it.
    """
    try:
        return begun(problem, column.start), terms
    except NotSettledError:
        found = fit_descriptor(problem.held_equal, tolerance=tolerance_of(problem))
        within = 0 if problem.ends is None else int(np.sum(problem.ends.within))
        return found, _with_held(terms, f"{within} of {len(problem.y)} scores lie within the line")


def _as_written(problem: FitProblem, column: Column, terms: Terms) -> Alone:
    """What the fit says that takes every score at its word."""
    try:
        return _described(*_settled(problem, column, terms))
    except NotSettledError as error:
        return Alone(terms.left_out, str(error), moving=error.assessor, rounds=MAX_ROUNDS)
    except FitError as error:
        return Alone(terms.left_out, str(error))


def _counted(found: Alone, problem: FitProblem) -> Alone:
    """The estimates of a note that nearly every glass lacks; of the fit, all else that it says."""
    glasses, y = problem.layout.glasses, problem.y
    line, unknown = FoundOrNot.of(glasses.sample, y), np.full(glasses.n_samples, np.nan)
    return replace(
        found,
        reason=None,
        estimate=line.mean,
        variance=line.error_variance,
        common=0.0,
        fixed=np.zeros(glasses.n_samples),
        order=np.empty((0, 0)),
        told=unknown,
        noise=unknown,
        inflation=1.0,
        line=line,
        reading=ReadAs.FOUND,
    )


def _settled(problem: FitProblem, column: Column, terms: Terms) -> tuple[Fit, Terms]:
    """The fit; with scales and noises held equal where zeros leave nothing to tell them by."""
    if problem.zeros <= NEARLY_ALL_ZERO or problem.settings.plain:
        try:
            return begun(problem, column.start), terms
        except NotSettledError:
            if problem.zeros <= MOSTLY_ZERO or problem.settings.plain:
                raise
    found = fit_descriptor(problem.held_equal, tolerance=tolerance_of(problem))
    above = int(np.sum(problem.y > 0.0))
    return found, _with_held(terms, f"only {above} of {len(problem.y)} scores lie above 0")


def _with_held(terms: Terms, how_many: str) -> Terms:
    why = (
        f"held equal for all: {how_many}, too few to tell people apart by; look at those glasses "
        "one by one"
    )
    return Terms(terms.names, {**terms.left_out, "scale": why, "noise": why})


def _terms(column: Column, settings: ProfileSettings) -> tuple[Terms, str | None]:
    if not len(column.panel):
        return Terms((), {}), "nobody of the standing panel scored it"
    if np.ptp(column.y) == 0.0:
        return Terms((), {}), f"every score is the same ({in_digits(column.y[0], 'g')})"
    terms = choose_terms(column.glasses.layout, fixed_samples=settings.fixed_samples)
    if SAMPLE not in terms.names and not settings.fixed_samples:
        return terms, _nothing_to_compare(column)
    return terms, None


def _nothing_to_compare(column: Column) -> str:
    """Why noise cannot be told from difference."""
    if np.ptp(column.glasses.sample) == 0:
        return f"all {len(column.y)} scores are of one sample: there is nothing to lay it beside"
    return "no sample was scored twice, so noise cannot be told from difference"


def _fixed(layout: ModelLayout) -> Matrix:
    """Columns that give each sample but the first a mean of its own."""
    found: Matrix = np.eye(layout.glasses.n_samples)[:, 1:]
    return found


def _described(found: Fit, terms: Terms) -> Alone:
    at = found.at
    problem, settings = at.problem, at.problem.settings
    prediction = predict(at.moments, at.solution, problem.panel, at.squares, at.serving)
    between = _between(at)
    told, noise = _told(prediction, between)
    inflation = _inflation(at) if settings.inflate else 1.0
    line: OnTheLine = Straight()
    if problem.ends is not None:
        line = curve_of(at, problem.ends, problem.panel, prediction.estimate)
    gamma, gamma_covariance = _effects(at)
    effect, effect_se = at.serving.named(at.taken.y)
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
        line=line,
        reading=ReadAs.AS_WRITTEN if problem.ends is None else ReadAs.BELOW,
        slips=None if problem.ends is None else at.parameters.slips,
        order=np.sqrt(inflation) * prediction.order,
        order_effect=effect,
        order_se=effect_se,
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
    """Mean squared standardised error of predicting each sample from all others, 1 at least.

    Pseudo-scores show no such errors: there it goes by the number of samples.
    """
    if at.problem.ends is not None:
        return 1.0 + _PLUGGED_IN / at.system.n
    if not at.system.has_samples:
        return 1.0
    score = Scores.of(at.system, at.solution).sample
    information = at.left_out_information
    seen = information > 0.0
    return max(float(np.mean(score[seen] ** 2 / information[seen]) / at.squares), 1.0)


def _as_noisy_as_found(at: Evaluation, prediction: Prediction) -> Vector:
    """Error variances; of a note nearly always 0, wider where somebody found it.

    One noise for all is that of the zeros, which never waver. What is a sample's own of the
    error of those found is widened by as much as its residuals, and those of the other samples
    that somebody found, are larger.
    """
    problem, variance = at.problem, prediction.variance
    settings = problem.settings
    held = settings.equal_noise and not settings.plain and problem.ends is None
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
