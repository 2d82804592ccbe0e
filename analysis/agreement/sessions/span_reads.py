"""How somebody reads one note over several sessions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..indices.repeat import Repeat
from ..one_session.assessors import (
    PanelSlope,
    reading,
    span_word,
    usual_repeat_sd,
)
from ..one_session.standing import Standing
from ..settings import AgreementSettings
from ..verdict import AssessorWord
from .over_sessions import PersonOverSessions
from .span_scores import SpanScores

_WIDTHS = (AssessorWord.WIDER, AssessorWord.NARROWER)
"""Nothing to say of a note that is mostly zeros: the few scores above tell no slope."""


@dataclass(frozen=True)
class Read:
    """How somebody reads a note over the span, whichever way that was found."""

    word: AssessorWord | None
    n_sessions: int
    slope: float | None
    reason: str | None
    signal_share: float | None = None


def by_model(
    person: PersonOverSessions, standing: Standing, n_notes: int, settings: AgreementSettings
) -> Read:
    """By the one model; of so many notes one is looked at.

    Figures go with a word: what nobody can call, or is for one person, shows none.
    """
    own = _surely(person.word(settings), person.p_reversed, standing, n_notes, settings)
    word = standing.allowed(own, person.scale)
    if word is None:
        return Read(None, person.n_sessions, None, "too close to call")
    return Read(word, person.n_sessions, person.scale, None, person.signal_share)


def by_slopes(
    name: str, note: SpanScores, standing: Standing, n_notes: int, settings: AgreementSettings
) -> Read:
    """By the slopes of single sessions, where the one model says nothing of the note."""
    if note.in_camps:
        return Read(None, 0, None, "the panel is in two camps on this note")
    slopes = [part for part in note.slopes.get(name, ()) if np.isfinite(part.true_se)]
    repeat = note.repeat.assessors.get(name, Repeat())
    usual = usual_repeat_sd(list(note.repeat.assessors.values()))
    chance = reading(slopes).reversed if slopes else 0.0
    own = _surely(span_word(slopes, repeat, usual, settings), chance, standing, n_notes, settings)
    word = standing.allowed(own, _slope(slopes))
    if note.over.mostly_zero and word in _WIDTHS:
        word = AssessorWord.WITH
    reason = None
    if not slopes:
        reason = "the panel told the samples apart on it in no session this assessor was in"
    elif word is None:
        reason = "too close to call"
    return Read(word, len(slopes), _slope(slopes), reason)


def _slope(slopes: Sequence[PanelSlope]) -> float | None:
    if not slopes:
        return None
    exact = [part.true_slope for part in slopes if part.true_se <= 0.0]
    if exact:  # scored as the others to the last digit: no error to weigh by
        return float(np.mean(exact))
    weights = np.array([1.0 / part.true_se**2 for part in slopes])
    return float(np.average([part.true_slope for part in slopes], weights=weights))


def _surely(
    word: AssessorWord | None,
    chance: float,
    standing: Standing,
    n_notes: int,
    settings: AgreementSettings,
) -> AssessorWord | None:
    """The word of a note; the other way round only if the person is, or it stands among them all.

    Of six notes one looks reversed six times as often by chance.
    """
    if word is not AssessorWord.REVERSED or standing.reading.against:
        return word
    sure = 1.0 - (1.0 - settings.flag_probability) / max(n_notes, 1)
    return word if chance > sure else None
