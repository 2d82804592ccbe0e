"""One descriptor: what is fitted, and what its fit says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ..array_types import Codes, Matrix, Vector
from .ends import ReadAs
from .layout import Glasses
from .lines import OnTheLine, Straight
from .parameters import Parameters
from .people import People


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
    order
        What each glass has of place and of smoke before it, (glasses, 2).
    start
        Parameters of an earlier fit.
    """

    glasses: Glasses
    y: Vector
    covariates: Matrix
    panel: Codes
    order: Matrix
    start: Parameters | None = None


@dataclass(frozen=True)
class Alone:
    """What one descriptor's fit says; `reason` where there was none.

    Attributes
    ----------
    estimate, variance, common, fixed
        See :class:`analysis.profile.predict.Prediction`; variances widened by `inflation`.
    line
        What estimates come to on the line; of a note with many scores at an end they are latent.
    reading, reading_reason
        How the scores were read, and why not as their number at the ends asks.
    slips
        Share of the glasses that are slips, where it was estimated.
    moving
        Code of the assessor whose scale did not settle.
    told, noise
        What the scores alone say of each sample's deviation, and its noise variance.
    between
        Variance between samples that covariates do not explain, disagreement with it.
    order
        Errors that the samples share through what the order does (see `Prediction`), and
        `order_effect` and `order_se`, what it does.
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
    line: OnTheLine = field(default_factory=Straight)
    reading: ReadAs = ReadAs.AS_WRITTEN
    reading_reason: str | None = None
    slips: float | None = None
    order: Matrix = field(default_factory=lambda: np.empty((0, 0)))
    order_effect: Mapping[str, float] = field(default_factory=dict)
    order_se: Mapping[str, float] = field(default_factory=dict)
