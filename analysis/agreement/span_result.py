"""What is said of several sessions together: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from analysis.agreement.drift import Drift
from analysis.agreement.result import Json, PrivateFact, plain


@dataclass(frozen=True)
class SpanSession:
    """One session of the span in a line; `verdict` is None when it could not be judged."""

    session: str
    held_on: str | None
    verdict: str | None
    sentence: str
    next_action: str | None
    n_assessors: int
    n_samples: int
    n_safe: int
    n_descriptors: int


@dataclass(frozen=True)
class SpanNote:
    """One assessor on one descriptor over the span.

    Attributes
    ----------
    n_sessions
        Sessions in which the panel told the samples apart on it and this assessor was there.
    slope
        On the means of the others, those sessions weighed by how sure each is.
    repeat_sd
        Repeatability in points of the 0-100 line, all sessions pooled.
    verdict, reason
        A word of the house's, or why there is none.
    """

    descriptor: str
    n_sessions: int
    slope: float | None
    repeat_sd: float | None
    n_scores: int
    n_missing: int
    verdict: str | None
    reason: str | None
    drift: Drift | None


@dataclass(frozen=True)
class SpanAssessor:
    """One assessor over the span: a sentence first; `drift` is on all notes together."""

    assessor: str
    verdict: str
    sentence: str
    next_action: str
    n_sessions: int
    n_scores: int
    n_missing: int
    missing_rate: float
    drift: Drift | None
    notes: tuple[SpanNote, ...]


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
    """

    descriptor: str
    n_sessions: int
    verdicts: Mapping[str, int]
    repeat_sd: float | None
    missing_rate: float
    drift: Drift | None
    verdict: str
    sentence: str
    next_action: str


@dataclass(frozen=True)
class Span:
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
        found: Json = plain(asdict(self))
        if not private:
            found.pop("private")
        return found
