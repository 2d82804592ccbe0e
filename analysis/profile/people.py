"""What a fit says about each assessor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Matrix, Vector
from ..house_line import Z_95
from .equations import assessor_share
from .evaluation import Evaluation
from .layout import sums
from .terms import ASSESSOR, ASSESSOR_SAMPLE, FILLING, SAMPLE

KINDS = np.array([[0.93, 1.0, 0.3], [0.05, 0.0, 0.1], [0.02, -1.0, 0.3]])
"""Scales before any score is seen: weight, mean and sd of those who follow the note, of those
who cannot smell it, and of those who have it the wrong way round. House shares."""
_FOLLOWS, _FLAT, _REVERSED = range(3)


@dataclass(frozen=True)
class People:
    """One number an assessor; offsets and noise in points, shares from 0 to 1.

    Attributes
    ----------
    offset, offset_se
        Level above the standing panel's mean.
    scale, scale_se
        Points for each point of the panel.
    noise, noise_low, noise_high
        Sd of a score about what was to be expected, slips and all, with its 95 % interval.
    flat, reversed_
        Probability that the assessor cannot smell the note, or has it the wrong way round.
    signal_share
        Share of the variance of the assessor's scores on unlike samples that the note makes.
    """

    offset: Vector
    offset_se: Vector
    scale: Vector
    scale_se: Vector
    noise: Vector
    noise_low: Vector
    noise_high: Vector
    flat: Vector
    reversed_: Vector
    signal_share: Vector


def people(at: Evaluation, panel: Codes) -> People:
    """Describe every assessor."""
    offset, offset_se = _offsets(at, panel)
    noise, log_sd = _noise(at)
    information = at.scale_information
    kinds = kinds_of_scale(information * at.parameters.scale + at.scale_pull, information)
    prior = 1.0 / at.problem.settings.scale_sd**2
    free = not at.problem.settings.equal_scale
    scale_se = np.sqrt(1.0 / (information + prior)) if free else np.zeros(len(noise))
    heard = at.parameters.scale**2 * signal_variance(at)
    return People(
        offset=offset,
        offset_se=offset_se,
        scale=at.parameters.scale,
        scale_se=scale_se,
        noise=noise,
        noise_low=noise * np.exp(-Z_95 * log_sd),
        noise_high=noise * np.exp(Z_95 * log_sd),
        flat=kinds[:, _FLAT],
        reversed_=kinds[:, _REVERSED],
        signal_share=heard / (heard + disagreement_variance(at) + noise**2),
    )


def kinds_of_scale(weighted: Vector, information: Vector) -> Matrix:
    """Probability of each of `KINDS`, shape (assessors, 3).

    With the scores alone a scale would be ``weighted / information`` with variance
    ``1 / information``.

    Examples
    --------
    >>> import numpy as np
    >>> kinds_of_scale(np.array([0.0, 0.0, 400.0]), np.array([0.0, 400.0, 400.0])).round(2).tolist()
    [[0.93, 0.05, 0.02], [0.03, 0.97, 0.0], [1.0, 0.0, 0.0]]
    """
    weight, mean, sd = KINDS.T
    told = information > 0.0
    best = np.divide(weighted, information, out=np.zeros_like(weighted), where=told)[:, None]
    known = np.divide(1.0, information, out=np.full_like(weighted, np.inf), where=told)[:, None]
    variance = sd**2 + known
    with np.errstate(invalid="ignore"):
        fit = np.where(
            told[:, None], -0.5 * (np.log(variance) + (best - mean) ** 2 / variance), 0.0
        )
    log = np.log(weight) + fit
    share = np.exp(log - log.max(axis=1, keepdims=True))
    found: Matrix = share / share.sum(axis=1, keepdims=True)
    return found


def signal_variance(at: Evaluation) -> float:
    """Variance between samples, their covariates' part with it."""
    ratios = at.parameters.ratios
    random = at.squares * (ratios.get(SAMPLE, 0.0) + ratios.get(FILLING, 0.0))
    return float(random + np.var(at.solution.tau - at.solution.u))


def disagreement_variance(at: Evaluation) -> float:
    """Variance of lasting disagreement about a sample."""
    return float(at.squares * at.parameters.ratios.get(ASSESSOR_SAMPLE, 0.0))


def reliability(at: Evaluation, panel: Codes) -> float | None:
    """Panel reliability of one visit: ``R = v W / (1 + v W)``.

    ``W = sum g_j^2 / (noise_j^2 + disagreement)`` over the panel, ``v`` the variance between
    samples: the share of the variance of the panel's best mean that is the samples'.
    """
    noise = _noise(at)[0][panel] ** 2 + disagreement_variance(at)
    if not (noise > 0.0).all():
        return None
    told = signal_variance(at) * float(np.sum(at.parameters.scale[panel] ** 2 / noise))
    return told / (1.0 + told)


def _offsets(at: Evaluation, panel: Codes) -> tuple[Vector, Vector]:
    sys, lay = at.system, at.system.layout
    n = at.problem.n_assessors
    if ASSESSOR not in sys.ratios:
        return np.full(n, np.nan), np.full(n, np.nan)
    share, _ = assessor_share(sys)
    found = share * sums(lay.block_assessor, at.solution.own, n)
    moved = np.array([at.serving.own[part.blocks].sum(axis=0) for part in lay.assessors])
    moved = share[:, None] * moved
    covariance = at.moments.offset_covariance + moved @ moved.T
    mean = np.zeros(n)
    mean[panel] = 1.0 / len(panel)
    common = covariance @ mean
    variance = np.diag(covariance) - 2.0 * common + float(mean @ common)
    return found - found[panel].mean(), np.sqrt(at.squares * variance)


def _noise(at: Evaluation) -> tuple[Vector, Vector]:
    """Sd of scores, mixed a little with everybody's, and the sd of its logarithm."""
    problem, weight = at.problem, at.problem.settings.noise_weight
    n = problem.by_assessor(np.ones(len(problem.y)))
    total = problem.by_assessor(at.raw_left**2 + at.fitted_variance)
    variance = (total + weight * total.sum() / n.sum()) / (n + weight)
    if at.sites is not None:
        variance = at.squares * at.parameters.noise
        noise = at.parameters.noise[problem.layout.glasses.assessor]
        n = problem.by_assessor(at.system.weight * noise)
    if problem.settings.equal_noise and at.sites is None:
        variance = np.full_like(variance, total.sum() / n.sum())
    used = problem.by_assessor(at.fitted_variance * at.system.weight / at.squares)
    return np.sqrt(variance), np.sqrt(0.5 / np.maximum(n - used, 1.0))
