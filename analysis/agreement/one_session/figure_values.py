"""The figures of one descriptor as values; they know nothing of how they were computed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class SampleEffect:
    """Test of whether the samples differ on one descriptor.

    Attributes
    ----------
    f, df_num, df_den, p
        F over the assessor-by-sample interaction with its degrees of freedom and p; None when
        it could not be computed, with `reason`.
    method
        How it was computed, in words.
    """

    f: float | None
    df_num: float | None
    df_den: float | None
    p: float | None
    method: str
    reason: str | None = None


@dataclass(frozen=True)
class Variance:
    """REML variance components, in squared units of the scale the scores were given on.

    Attributes
    ----------
    assessor, interaction, residual
        Between assessors, assessor by sample, and left over; None when not estimable.
    log_likelihood
        Restricted log-likelihood of the fit, constants included.
    note
        What has to be known to read them.
    """

    assessor: float | None
    interaction: float | None
    residual: float | None
    log_likelihood: float | None
    note: str | None = None


@dataclass(frozen=True)
class SampleMean:
    """Mean of one sample on one descriptor, on the scale the scores were given on.

    Attributes
    ----------
    mean
        Fixed effect of the sample in the mixed model (assessor and interaction random).
    se
        Its standard error for a panel drawn anew: it holds the spread between assessors.
    n_scores
        Number of scores behind it.
    """

    sample: str
    mean: float
    se: float | None
    n_scores: int


@dataclass(frozen=True)
class ScalingFigures:
    """The mixed assessor model in figures, or the reason why not."""

    f_sample: float | None = None
    p_sample: float | None = None
    f_scaling: float | None = None
    p_scaling: float | None = None
    f_disagreement: float | None = None
    p_disagreement: float | None = None
    slopes: Mapping[str, float] = field(default_factory=dict)
    disagreement_by_assessor: Mapping[str, float] = field(default_factory=dict)
    reason: str | None = None


@dataclass(frozen=True)
class Friedman:
    """Friedman's test on the order of the samples."""

    chi2: float
    df: int
    p: float


@dataclass(frozen=True)
class OrderFigures:
    """What the order of serving did, on the scale the scores were given on, drawn to nothing.

    Attributes
    ----------
    per_glass, per_glass_sd
        Points a glass further along the tray, and how surely.
    carry_over, carry_over_sd
        Points for one point of smoke in the glass before.
    f_kept
        Share of the F of the samples that is left beside what is not known of the order.
    n_again
        Glasses nosed again in a later class, this session and the twelve months before it.
    """

    per_glass: float
    per_glass_sd: float
    carry_over: float
    carry_over_sd: float
    f_kept: float
    n_again: int


@dataclass(frozen=True)
class RepeatFigures:
    """Repeatability in points of the scale the scores were given on.

    Attributes
    ----------
    sd
        Standard deviation of one assessor's score of one glass nosed again; None without a
        repeated glass, with `reason`.
    df, n_duplicates, n_sessions
        Pairs behind it, repeated glasses, and sessions they came from.
    """

    sd: float | None
    df: int
    n_duplicates: int
    n_sessions: int
    reason: str | None = None
