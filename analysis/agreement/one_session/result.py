"""What an assessment of agreement says: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from ...as_json import AsJson, Json, as_json
from ...readable import Readable, listed
from ..indices.incomplete import RankTest
from ..verdict import ICC_QUESTIONS, AssessorWord, PanelWord, Verdict
from ..verdict.serving import OrderSaid
from .blanks import LowBlanks
from .camps import Camps
from .figure_values import (
    Friedman,
    OrderFigures,
    RepeatFigures,
    SampleEffect,
    SampleMean,
    ScalingFigures,
    Variance,
)
from .habits import Habits
from .note_row import note_row
from .small_panel import SmallPanel
from .swap_check import SwapCheck
from .swaps import Swap
from .waiting import Waiting
from .with_panel import WithPanel


@dataclass(frozen=True)
class DescriptorAgreement(AsJson):
    """Everything about one descriptor of a session.

    Figures are on the scale the scores were given on, ``scale_low`` to ``scale_high``;
    sentences speak of points on the house line, 0 to 100. `seen_difference` is the difference
    between two samples that this panel sees four times in five, `sample_span` the distance
    between the lowest and the highest sample mean; below `alike_below` the samples are alike, and
    no two of them differ by more than `at_most_apart`. `low_blanks` says that blanks lie where the
    others score low, so that the means are too high; nobody scored the samples in `never_scored`,
    and no figure here knows of them; `blanks_note` says both in words. Where not every assessor
    scored every sample, `icc_unbalanced` and `rank_test` stand beside the indices that need it, and
    `icc_note` and `kendall_note` say so. `reliability` is this session's, ``1 - 1/F``;
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
    alike_below: float | None
    at_most_apart: float | None
    low_blanks: LowBlanks | None
    never_scored: tuple[str, ...]
    blanks_note: str | None
    order: OrderFigures | None
    camps: Camps | None
    note: str | None
    verdict: Verdict[PanelWord]
    n_sessions_over: int = 1
    reliability_over_sessions: float | None = None
    reliability_over_sessions_low: float | None = None
    over_sessions_note: str | None = None
    over_sessions_sentence: str | None = None


class WhyNot(StrEnum):
    """Why an assessor gets no word on a note."""

    NOT_SCORED = "not scored"
    NOBODY = "nobody can be judged by it"
    TOO_CLOSE = "too close to call"


@dataclass(frozen=True)
class Unjudged:
    """Why there is no word, and that in words."""

    why: WhyNot
    said: str

    beside_types = (("", str),)

    def beside(self, name: str) -> dict[str, str]:
        """The words only, for what carries the reason."""
        return {name: self.said}


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
    verdict: AssessorWord | None
    reason: Unjudged | None
    evening_verdict: AssessorWord | None = None
    signal_share: float | None = None
    n_sessions: int = 1


@dataclass(frozen=True)
class AssessorAgreement(AsJson):
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
    reading, habits
        What holds over all notes together, this session and the last few.
    """

    assessor: str
    verdict: Verdict[AssessorWord]
    n_scores: int
    n_missing: int
    missing_rate: float
    correlation: float | None
    swap: Swap | None
    notes: tuple[AssessorNote, ...]
    signal_share: float | None = None
    over_sessions_sentence: str | None = None
    reading: WithPanel = field(default_factory=WithPanel)
    habits: Habits = field(default_factory=Habits)

    json_keys = (
        *("assessor", "verdict", "n_scores", "n_missing", "missing_rate", "correlation", "swap"),
        *("signal_share", "over_sessions_sentence", ("notes", "descriptors")),
    )


@dataclass(frozen=True)
class PrivateFact:
    """Something about a person that is for that person and the lead only."""

    assessor: str
    descriptor: str
    probability: float
    n_sessions: int
    sentence: str
    next_action: str


@dataclass(frozen=True, repr=False)
class Agreement(AsJson, Readable):
    """Can this panel be trusted: one session.

    Attributes
    ----------
    verdict
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
    order
        In which order the glasses were served, and what that lets be compared.
    small_panel
        What few people can be asked to decide; None for a panel that is not small.
    waiting
        Scores that are not used until a suspected swap is cleared; None without any.
    """

    session: str
    verdict: Verdict[PanelWord]
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
    waiting: Waiting | None = None
    order: OrderSaid = field(default_factory=OrderSaid)

    json_keys = (
        *("session", "verdict", "n_assessors", "n_samples", "n_scores", "left_out"),
        *("n_recent_sessions", "seed", "descriptors", "assessors", "swaps", "small_panel"),
        *("waiting", "order", "icc_questions"),
    )
    json_sometimes = ("private",)
    icc_questions = ICC_QUESTIONS

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
        found = super().to_dict()
        return found | {"private": as_json(self.private)} if private else found

    def said(self) -> Iterator[str]:
        """Give the verdict, what to do, and a line for each note."""
        yield f"{self.session}: {self.verdict.sentence}"
        yield from listed(
            (f"{note.descriptor}: {note.verdict.label}" for note in self.descriptors), most=30
        )

    def rows(self) -> Iterable[object]:
        """Give the notes with their words and the figures behind them."""
        return [note_row(note) for note in self.descriptors]
