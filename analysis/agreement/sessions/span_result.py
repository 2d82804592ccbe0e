"""What is said of several sessions together: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...as_json import AsJson, Json
from ..one_session.result import PrivateFact
from ..verdict import AssessorWord, PanelWord, Verdict
from ..verdict.over_sessions import in_two_camps
from ..verdict.span import NoteVerdict
from .drift_result import Drift


@dataclass(frozen=True)
class SpanSession(AsJson):
    """One session of the span in a line; `verdict` is None with `reason` where it has none."""

    session: str
    held_on: str | None
    verdict: Verdict[PanelWord] | None
    n_assessors: int
    n_samples: int
    n_safe: int
    n_descriptors: int
    reason: str | None = None

    json_keys = (
        *("session", "held_on", ("label", "verdict"), "sentence", "next_action"),
        *("n_assessors", "n_samples", "n_safe", "n_descriptors"),
    )

    @property
    def sentence(self) -> str:
        """What is said of it, or why it could not be judged."""
        return (self.reason or "") if self.verdict is None else self.verdict.sentence

    @property
    def label(self) -> str | None:
        """The word for it."""
        return None if self.verdict is None else self.verdict.label

    @property
    def next_action(self) -> str | None:
        """What to do about it."""
        return None if self.verdict is None else self.verdict.next_action


@dataclass(frozen=True)
class SpanNote:
    """One assessor on one descriptor over the span.

    Attributes
    ----------
    n_sessions
        Sessions in which the panel told the samples apart on it and this assessor was there.
    slope
        Points for one point of the others, by the one model; where that says nothing of the note,
        on the means of the others, sessions weighed by how sure each is.
    repeat_sd
        Repeatability in points of the 0-100 line, all sessions pooled.
    verdict, reason
        A word of the house's, or why there is none.
    signal_share
        Share of the variance of this person's scores on unlike samples that the note makes, by
        the one model; None where no word is given by it.
    """

    descriptor: str
    n_sessions: int
    slope: float | None
    repeat_sd: float | None
    n_scores: int
    n_missing: int
    verdict: AssessorWord | None
    reason: str | None
    drift: Drift | None
    signal_share: float | None = None


@dataclass(frozen=True)
class SpanAssessor:
    """One assessor over the span: a sentence first; `drift` is on all notes together.

    `signal_share` is the mean over the notes of which it is known.
    """

    assessor: str
    verdict: Verdict[AssessorWord]
    n_sessions: int
    n_scores: int
    n_missing: int
    missing_rate: float
    drift: Drift | None
    notes: tuple[SpanNote, ...]
    signal_share: float | None = None


@dataclass(frozen=True)
class SpanDescriptor:
    """One descriptor over the span.

    Attributes
    ----------
    verdicts
        How many sessions came to each verdict.
    repeat_sd
        Of the panel, in points of the 0-100 line.
    drift
        Of the panel as a whole on the hidden reference.
    reliability_over_sessions, reliability_over_sessions_low
        Of one visit of this panel, by the one model, and its lower 80 % bound; None with
        `over_sessions_note`, and then the verdict goes by the sessions' own.
    seen_difference
        Difference in points that one visit shows four times in five.
    """

    descriptor: str
    n_sessions: int
    verdicts: Mapping[PanelWord, int]
    repeat_sd: float | None
    missing_rate: float
    drift: Drift | None
    verdict: NoteVerdict
    n_samples: int = 0
    n_assessors: int = 0
    reliability_over_sessions: float | None = None
    reliability_over_sessions_low: float | None = None
    seen_difference: float | None = None
    over_sessions_note: str | None = None

    @property
    def in_camps(self) -> bool:
        """Whether the panel reads it in two camps over the span."""
        return in_two_camps(self.verdicts)


@dataclass(frozen=True)
class BeforeSpan(AsJson):
    """Sessions held before the first of a span that nobody asked about."""

    n_sessions: int
    first: str
    last: str


@dataclass(frozen=True)
class Span(AsJson):
    """Several sessions: can this panel be trusted, and where is it going.

    Attributes
    ----------
    sessions
        In order of their dates.
    descriptors, assessors
        In order of their names; there is no league table.
    drift
        Of the panel on all notes together.
    private
        Facts close to a person's health, left out of :meth:`to_dict` unless asked for.
    before
        What is left out because it was held earlier; None where nothing is, or nobody knows.
    """

    first: str
    last: str
    sentence: str
    next_action: str
    n_scores: int
    seed: int
    left_out: Mapping[str, int]
    sessions: tuple[SpanSession, ...]
    descriptors: tuple[SpanDescriptor, ...]
    assessors: tuple[SpanAssessor, ...]
    drift: Drift | None = None
    private: tuple[PrivateFact, ...] = ()
    before: BeforeSpan | None = None

    json_sometimes = ("private",)

    def assessor(self, name: str) -> SpanAssessor:
        """One assessor over the span; KeyError for one who was never there."""
        for found in self.assessors:
            if found.assessor == name:
                return found
        raise KeyError(name)

    def descriptor(self, name: str) -> SpanDescriptor:
        """One descriptor over the span; KeyError if it was never scored."""
        for found in self.descriptors:
            if found.descriptor == name:
                return found
        raise KeyError(name)

    def to_dict(self, *, private: bool = False) -> Json:
        """Plain values, ready for JSON; a quantity without a value is None."""
        found = super().to_dict()
        if not private:
            found.pop("private")
        return found
