"""What an assessment of agreement says: frozen values that know how to become JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from analysis.agreement.indices.incomplete import RankTest
from analysis.agreement.one_session.swaps import Swap
from analysis.agreement.verdict import ICC_QUESTIONS

if TYPE_CHECKING:
    from analysis.agreement.one_session.small_panel import SmallPanel
    from analysis.agreement.one_session.swap_check import SwapCheck

Json = dict[str, Any]


def plain(value: object) -> Any:
    """Turn a value into what JSON can hold; a number that is none becomes null."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, Mapping):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, tuple | list):
        return [plain(part) for part in value]
    if isinstance(value, int):
        return int(value)
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    return str(value)


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


@dataclass(frozen=True)
class DescriptorAgreement:
    """Everything about one descriptor of a session.

    Figures are on the scale the scores were given on, ``scale_low`` to ``scale_high``;
    sentences speak of points on the house line, 0 to 100. `seen_difference` is the difference
    between two samples that this panel sees four times in five, `sample_span` the distance
    between the lowest and the highest sample mean. Where not every assessor scored every sample,
    `icc_unbalanced` and `rank_test` stand beside the indices that need it, and `icc_note` and
    `kendall_note` say so. `reliability` is this session's, ``1 - 1/F``;
    `reliability_over_sessions` is that of one visit of these assessors by the one model over the
    `n_sessions_over` sessions to date that have the note, with its lower 80 % bound, None with
    `over_sessions_note`; `over_sessions_sentence` lays it beside the verdict.
    """

    descriptor: str
    scale_low: float
    scale_high: float
    n_scores: int
    n_missing: int
    missing_rate: float
    n_assessors: int
    n_samples: int
    sample_effect: SampleEffect
    sample_effect_reml: SampleEffect
    variance: Variance
    permutation_p: float | None
    p_adjusted: float | None
    reliability: float | None
    reliability_low: float | None
    reliability_high: float | None
    icc: Mapping[str, float] | None
    icc_bounds: Mapping[str, tuple[float, float]] | None
    icc_unbalanced: Mapping[str, float] | None
    icc_note: str | None
    kendall_w: float | None
    friedman: Friedman | None
    rank_test: RankTest | None
    kendall_note: str | None
    scaling: ScalingFigures
    repeat: RepeatFigures
    presence_rate: float | None
    mean_if_present: float | None
    means: tuple[SampleMean, ...]
    sample_span: float | None
    seen_difference: float | None
    note: str | None
    verdict: str
    sentence: str
    next_action: str
    n_sessions_over: int = 1
    reliability_over_sessions: float | None = None
    reliability_over_sessions_low: float | None = None
    over_sessions_note: str | None = None
    over_sessions_sentence: str | None = None

    def to_dict(self) -> Json:
        """Plain values, ready for JSON."""
        found: Json = plain(asdict(self))
        return found


@dataclass(frozen=True)
class AssessorNote:
    """One assessor on one descriptor.

    Attributes
    ----------
    correlation, slope, slope_se
        With and on the means of the other assessors over the samples; None with `reason`.
    repeat_sd
        Repeatability, recent sessions pooled.
    span
        Distance between the assessor's lowest and highest sample.
    disagreement_f
        F of the assessor's disagreement in the mixed assessor model.
    verdict
        A word of the house's about this person on this note; None when the panel as a whole
        did not tell the samples apart, so that nobody can be judged by it. Where there are
        sessions before this one it goes by the one model over the last few.
    evening_verdict
        The word that this session alone would give.
    signal_share, n_sessions
        Share of the variance of this person's scores on unlike samples that the note makes, by
        the one model over so many of the last sessions; None where no word is given by it.
    """

    descriptor: str
    n_scores: int
    n_missing: int
    offset: float | None
    correlation: float | None
    slope: float | None
    slope_se: float | None
    repeat_sd: float | None
    span: float | None
    disagreement_f: float | None
    verdict: str | None
    reason: str | None
    evening_verdict: str | None = None
    signal_share: float | None = None
    n_sessions: int = 1


@dataclass(frozen=True)
class AssessorAgreement:
    """One assessor in a session: a sentence first, figures after.

    Attributes
    ----------
    correlation
        With the means of the others, averaged over the notes somebody can be judged by.
    swap
        Two samples that read as if their glasses had changed places, if any.
    signal_share
        Mean over the notes of which it is known; None for a house's first session.
    over_sessions_sentence
        Where this session and the last few tell different stories of this person.
    """

    assessor: str
    verdict: str
    sentence: str
    next_action: str
    n_scores: int
    n_missing: int
    missing_rate: float
    correlation: float | None
    swap: Swap | None
    notes: tuple[AssessorNote, ...]
    signal_share: float | None = None
    over_sessions_sentence: str | None = None

    def to_dict(self) -> Json:
        """Plain values, ready for JSON; the notes come as ``descriptors``."""
        found: Json = plain(asdict(self))
        found["descriptors"] = found.pop("notes")
        return found


@dataclass(frozen=True)
class PrivateFact:
    """Something about a person that is for that person and the lead only."""

    assessor: str
    descriptor: str
    probability: float
    n_sessions: int
    sentence: str
    next_action: str


@dataclass(frozen=True)
class Agreement:
    """Can this panel be trusted: one session.

    Attributes
    ----------
    verdict, sentence, next_action
        The session in one line.
    descriptors, assessors
        In order of their names; there is no league table.
    private
        Facts close to a person's health. They are left out of :meth:`to_dict` unless asked
        for.
    left_out
        Scores not used, by reason.
    n_recent_sessions
        Sessions whose repeats were pooled with this one's.
    swaps
        Glasses that read as exchanged or are marked so, every verdict with and without.
    small_panel
        What few people can be asked to decide; None for a panel that is not small.
    """

    session: str
    verdict: str
    sentence: str
    next_action: str
    n_assessors: int
    n_samples: int
    n_scores: int
    left_out: Mapping[str, int]
    n_recent_sessions: int
    seed: int
    descriptors: tuple[DescriptorAgreement, ...]
    assessors: tuple[AssessorAgreement, ...]
    private: tuple[PrivateFact, ...] = ()
    swaps: tuple[SwapCheck, ...] = ()
    small_panel: SmallPanel | None = None

    def assessor(self, name: str) -> AssessorAgreement:
        """Figures of one assessor; KeyError for one who was not there."""
        for found in self.assessors:
            if found.assessor == name:
                return found
        raise KeyError(name)

    def descriptor(self, name: str) -> DescriptorAgreement:
        """Figures of one descriptor; KeyError if it was not scored."""
        for found in self.descriptors:
            if found.descriptor == name:
                return found
        raise KeyError(name)

    def to_dict(self, *, private: bool = False) -> Json:
        """Plain values, ready for JSON; a quantity without a value is None."""
        found: Json = {
            "session": self.session,
            "verdict": self.verdict,
            "sentence": self.sentence,
            "next_action": self.next_action,
            "n_assessors": self.n_assessors,
            "n_samples": self.n_samples,
            "n_scores": self.n_scores,
            "left_out": plain(self.left_out),
            "n_recent_sessions": self.n_recent_sessions,
            "seed": self.seed,
            "descriptors": [part.to_dict() for part in self.descriptors],
            "assessors": [part.to_dict() for part in self.assessors],
            "swaps": [plain(asdict(part)) for part in self.swaps],
            "small_panel": plain(asdict(self.small_panel)) if self.small_panel else None,
            "icc_questions": dict(ICC_QUESTIONS),
        }
        if private:
            found["private"] = [plain(asdict(part)) for part in self.private]
        return found
