"""The fit of one descriptor: variances by average information, the rest by expectation steps.

One round solves the equations at the present variances, then improves everything at once: the
variance ratios by a Newton step on the restricted likelihood, each assessor's scale and noise
and the noise of each level by the step of an expectation-maximisation (the missing data being
the effects), the moderated scores by their own fixed point. Scores at an end of the line, where
they are read as beyond it, are refreshed once a round (see `sites`).

Unless the model is plain, the deviance of the variance between samples carries ``-log`` of its
ratio, which keeps it off zero (Chung, Rabe-Hesketh, Dorie, Gelman & Liu 2013): a panel that is
too small to prove that samples differ has not proved them alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..array_types import Matrix, Vector
from ..errors import FitError
from ..newton import step_above_zero
from ..under_way import go_on
from .bins import levels_of
from .evaluation import Evaluation, Taken, evaluate
from .noises import LESS_KNOWN, Noise, Residuals, better_noise
from .noises_at_ends import noise_at_ends, share_of_slips
from .pace import Pace
from .parameters import MOST_RATIO, FitProblem, Parameters, first_guess
from .slopes import slopes
from .still import Still
from .terms import FILLING, SAMPLE, SESSION

MAX_ROUNDS = 150
TOLERANCE = 0.03
TOLERANCE_LARGE = 1.4
"""Of a large panel, whose standard errors are small against anything that is decided on them."""
TOLERANCE_CHEAP = 0.05
"""Of one whose rounds are quick and exact: what it says is then the same wherever it began."""
LOOSER = 10.0
"""Times the tolerance that one round may move parameters by, where samples decide."""
_HELD = 3
"""Rounds for which parameters that are known already wait for the scores at the ends."""
_NOISE_SLACK = 4.0
_MOST_LOST = 0.8
_LONGEST = 0.5
"""Furthest that a scale moves in one round."""
_MODERATIONS = 3
_MODERATIONS_FIRST = 15
_STILL = 1e-2
_NEAR_ZERO = 1e-3
_EVENING = 0.25
"""Variance between evenings, over the noise, that takes some proving where zeros are many."""


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
    problem: FitProblem,
    start: Parameters | None = None,
    *,
    tolerance: float = TOLERANCE,
    all_to_go: bool = False,
    by_samples: bool = False,
) -> Fit:
    """Fit one descriptor.

    Parameters
    ----------
    problem
        Scores and model.
    start
        Parameters of an earlier fit to start from.
    tolerance
        A fit has settled when a round would move nothing by more than so many of its standard
        errors. A plain model is always fitted to the last digits.
    all_to_go
        Hold against the tolerance all that a creep has to go, and not its last round alone.
    by_samples
        Let what is said of the samples decide: parameters may still move by several times as much
        of their own errors, on which no sample hangs.

    Raises
    ------
    NotSettledError
        If the fit does not settle; with what still moves.
    """
    now = start or first_guess(problem)
    levels, taken = levels_of(problem), Taken(problem.y)
    change, pace = None, Pace(careful=problem.ends is not None)
    still = Still(tolerance, all_to_go=all_to_go, always=by_samples)
    held = 0 if problem.ends is None or start is None else _HELD
    for round_ in range(1, MAX_ROUNDS + 1):
        go_on()
        times = _MODERATIONS_FIRST if round_ == 1 else _MODERATIONS
        at = evaluate(problem, now, levels, taken, times)
        taken = at.taken
        if round_ <= held or pace.waits():
            continue
        new, change = _improve(at)
        last = pace.last if all_to_go else 1.0
        share = LOOSER if by_samples else last
        if still.at(at) and _settled(problem, change, tolerance * share):
            return Fit(at, new, round_)
        now = new if problem.settings.plain else pace.of(now, new)
        taken = pace.taken(at)
        if problem.ends is not None:
            now = now.about_typical(problem.layout.glasses.assessor)
    raise NotSettledError(change)


def _settled(problem: FitProblem, change: _Change, tolerance: float) -> bool:
    if problem.settings.plain:
        return change.gain <= 1e-16 * len(problem.y)
    return change.gain < tolerance**2 and change.errors < tolerance


def _improve(at: Evaluation) -> tuple[Parameters, _Change]:
    """One step for every parameter, and how far it goes."""
    problem, now = at.problem, at.parameters
    ratios, gain = _ratios(at)
    scale, mean = _scale(at)
    ratios = {k: v * mean**2 if k in (SAMPLE, FILLING) else v for k, v in ratios.items()}
    noise, slips = _noise(at)
    new = Parameters(
        ratios,
        at.squares,
        scale,
        noise.noise,
        noise.spread,
        at.levels.edges,
        noise.level_noise,
        slips,
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
    held = None if at.problem.ends is None else at.squares
    found = slopes(at.system, at.solution, at.moments, held, at.serving)
    gradient, hessian = found.gradient.copy(), found.hessian.copy()
    least = np.where(now < _NEAR_ZERO, 0.0, now / 8.0)
    for name, limit in _kept_off_zero(at.problem).items():
        if name not in names:
            continue
        k = names.index(name)
        gradient[k] += 1.0 / limit - 1.0 / now[k]
        hessian[k, k] += 1.0 / now[k] ** 2
        least[k] = now[k] / 8.0
    most = np.minimum(4.0 * now + 0.1, MOST_RATIO)
    new = np.clip(now + step_above_zero(now, gradient, hessian), least, most)
    return dict(zip(names, new.tolist(), strict=True)), float(gradient @ (now - new))


def _kept_off_zero(problem: FitProblem) -> Mapping[str, float]:
    """Terms with a penalty of ``ratio / limit - log ratio``, and the limit of each.

    Of few evenings with many zeros the variance is often estimated 0, and the error that all
    glasses of an evening share goes missing; or, where one of them held most of the samples that
    were found at all, it takes what is theirs.
    """
    if problem.settings.plain:
        return {}
    return {SAMPLE: np.inf} if problem.ends is None else {SAMPLE: np.inf, SESSION: _EVENING}


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
    lay, sys, variance = at.problem.layout, at.system, at.tau_variance
    by_cell = sys.cell_scale * sys.cell_weight * sys.kept / np.sqrt(at.squares)
    squared = at.solution.tau**2 + at.squares * variance
    by_cell = by_cell * np.sqrt(squared * variance)[lay.cell_sample]
    table = np.zeros((sys.n, at.problem.n_assessors))
    table[lay.cell_sample, lay.cell_assessor] = by_cell
    found: Matrix = table.T @ table
    return found


def _noise(at: Evaluation) -> tuple[Noise, float]:
    """Noise after one step, and the share of slips."""
    problem, now, residuals = at.problem, at.parameters, _residuals(at)
    if problem.ends is None or at.sites is None:
        return better_noise(residuals, now, problem.settings, at.levels), 0.0
    noise = noise_at_ends(residuals, now, problem.settings, problem.ends, at.sites)
    return noise, 0.0 if problem.settings.degrees is None else share_of_slips(at.sites)


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
