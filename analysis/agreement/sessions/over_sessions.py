"""What the one model over several sessions says of a descriptor and of each assessor on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..indices.flight import FlightSpan
from ..settings import AgreementSettings
from ..verdict.over_sessions import OverFacts
from ..verdict.words import NOT_TOLD_APART, AssessorWord, too_few, too_near

MOSTLY_ZEROS = (
    "mostly zeros: the one model leans on a normal distribution that does not hold here; the "
    "verdict goes by each session's permutation"
)
_WIDE = 1.25
"""Over many sessions a line a tenth wider stands out from noise, but is no matter to speak of."""


@dataclass(frozen=True)
class PersonOverSessions:
    """One assessor on one descriptor over several sessions, by the one model.

    Attributes
    ----------
    n_sessions, n_scores
        In which test glasses were scored on it, and how many.
    signal_share
        Share of the variance of this assessor's scores on unlike samples that the note makes.
    p_with
        Chance that the share is more than the least that is asked for, the right way round.
    scale, scale_low, scale_high
        Points for one point of an assessor who follows the note; the bounds hold it 9 times
        in 10.
    noise, usual_noise
        Sd of a score about what was to be expected, in points, and the middle one of all.
    p_unsteady, p_flat, p_reversed
        Chances. `p_flat` is close to a person's health: for that person and the lead only.
    """

    assessor: str
    n_sessions: int
    n_scores: int
    signal_share: float
    p_with: float
    scale: float
    scale_low: float
    scale_high: float
    noise: float
    usual_noise: float
    p_unsteady: float
    p_flat: float
    p_reversed: float

    def word(self, settings: AgreementSettings) -> AssessorWord | None:
        """The word for this assessor on this note; None when it is too close to call.

        That somebody smells nothing of a note is never among them: it is said in private only.
        """
        if self.p_reversed > settings.flag_probability:
            return AssessorWord.REVERSED
        if self.p_flat > settings.flag_probability:
            return None
        if self.p_unsteady > settings.flag_probability:
            return AssessorWord.UNSTEADY
        return self._width if self.p_with > settings.with_panel_probability else None

    @property
    def _width(self) -> AssessorWord:
        """How wide a line somebody uses who reads with the panel."""
        if self.scale_low > 1.0 and self.scale > _WIDE:
            return AssessorWord.WIDER
        if self.scale_high < 1.0 and self.scale < 1.0 / _WIDE:
            return AssessorWord.NARROWER
        return AssessorWord.WITH


@dataclass(frozen=True)
class NoteOverSessions:
    """One descriptor over several sessions, by the one model.

    Attributes
    ----------
    n_sessions, n_samples
        In which test glasses were scored on it, and how many different ones.
    n_assessors
        Of the panel whose reliability is given.
    reliability, reliability_low
        Of one visit of that panel, and its lower 80 % bound; None with `reason`.
    seen_difference
        Difference between two samples that one visit shows four times in five, in points.
    span
        From the lowest to the highest estimate, in points.
    flight
        How far apart the samples are and may be; None where they cannot be compared.
    mostly_zero
        The scores are mostly zeros, which a normal distribution does not describe.
    people
        By assessor; empty without a fit.
    """

    descriptor: str
    n_sessions: int
    n_samples: int
    n_assessors: int = 0
    reliability: float | None = None
    reliability_low: float | None = None
    seen_difference: float | None = None
    span: float = 0.0
    flight: FlightSpan | None = None
    mostly_zero: bool = False
    people: Mapping[str, PersonOverSessions] = field(default_factory=dict)
    reason: str | None = None

    @property
    def leads(self) -> bool:
        """Whether verdicts may lean on it."""
        return self.reliability is not None

    def facts(self, n_duplicates: int) -> OverFacts | None:
        """What a sentence needs; None without a reliability."""
        if self.reliability is None or self.reliability_low is None:
            return None
        return OverFacts(
            descriptor=self.descriptor,
            n_sessions=self.n_sessions,
            n_samples=self.n_samples,
            n_duplicates=n_duplicates,
            n_assessors=self.n_assessors,
            reliability=self.reliability,
            reliability_low=self.reliability_low,
            seen_difference=self.seen_difference,
            alike=self.flight is not None and self.flight.alike,
            at_most=None if self.flight is None else self.flight.at_most,
        )

    def not_judging(self, settings: AgreementSettings) -> str | None:
        """Why nobody can be judged by it; None when it may be done."""
        if not self.leads:
            return self.reason or "the one model says nothing of it"
        if self.n_assessors < settings.small_panel:
            return too_few(settings.small_panel)
        if (self.reliability or 0.0) < settings.second_look_reliability:
            return NOT_TOLD_APART
        if self.span < settings.tolerance:
            return too_near(settings.tolerance)
        return None
