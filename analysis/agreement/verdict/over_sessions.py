"""Sentences on what the one model over several sessions says, and where an evening differs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor

from ...counted import count
from ...digits import as_here, in_digits
from ..settings import AgreementSettings
from .words import (
    CAMPS_ACTION,
    IS_ABSENT,
    AssessorWord,
    PanelWord,
    Verdict,
    capital,
    listed,
    points,
)


@dataclass(frozen=True)
class OverFacts:
    """One descriptor over several sessions; distances in points of the 0-100 line."""

    descriptor: str
    n_sessions: int
    n_samples: int
    n_duplicates: int
    n_assessors: int
    reliability: float
    reliability_low: float
    seen_difference: float | None
    alike: bool = False
    at_most: float | None = None


_LEAST_IN_CAMPS = 2
"""One evening of several may be that evening's matter."""


def in_two_camps(evenings: Mapping[PanelWord, int]) -> bool:
    """Whether a note whose sessions came to these words is read in two camps over all of them.

    The model may follow one camp surely: which one, no figure of it can tell.
    """
    n, total = evenings.get(PanelWord.CAMPS, 0), sum(evenings.values())
    return 2 * n >= total and n >= min(_LEAST_IN_CAMPS, max(total, 1))


def reliability_word(facts: OverFacts, settings: AgreementSettings) -> PanelWord:
    """The word for a panel over several sessions.

    No test of the samples stands beside it: a lower bound of .65 asks more than one would.
    """
    if facts.n_samples < settings.least_samples or facts.n_duplicates < settings.least_duplicates:
        return PanelWord.TOO_LITTLE
    sure = facts.reliability >= settings.safe_reliability and (
        facts.reliability_low >= settings.safe_low
    )
    if sure and facts.n_assessors >= settings.small_panel:
        return PanelWord.SAFE
    if facts.reliability >= settings.second_look_reliability:
        return PanelWord.SECOND_LOOK
    if facts.alike:
        return PanelWord.ALIKE
    seen = facts.seen_difference
    coarse = seen is None or seen > settings.coarse_multiple * settings.tolerance
    return PanelWord.DO_NOT if coarse else PanelWord.CANNOT_TELL


def over_sessions_verdict(
    facts: OverFacts, evenings: Mapping[PanelWord, int], settings: AgreementSettings
) -> Verdict[PanelWord]:
    """Judge a descriptor over several sessions; `evenings` counts their verdicts."""
    word = PanelWord.CAMPS if in_two_camps(evenings) else reliability_word(facts, settings)
    apart = facts.at_most is None and word is PanelWord.CANNOT_TELL
    if apart and 2 * evenings.get(PanelWord.ALIKE, 0) > sum(evenings.values()):
        word = PanelWord.ALIKE
    parts = [f"{name!s} in {n}" for name in PanelWord if (n := evenings.get(name, 0))]
    by_evening = f"; evening by evening {', '.join(parts)}" if parts else ""
    said = f"{capital(facts.descriptor)} over {count(facts.n_sessions, 'session')}: {_told(facts)}"
    return Verdict(
        word, f"{said}{_because(word, facts)}{by_evening}", _action(word, facts, settings)
    )


def _told(facts: OverFacts) -> str:
    nearly = f"above {as_here('0.99')}"
    value = nearly if facts.reliability > _ALL_BUT else in_digits(facts.reliability, ".2f")
    low = floor(100.0 * facts.reliability_low) / 100.0
    return (
        f"reliability {value}, at least {in_digits(low, '.2f')}, in one visit of "
        f"{count(facts.n_assessors, 'assessor')}"
    )


_ALL_BUT = 0.995
"""Above it a reliability would read 1.00, which no panel has."""


def _because(word: PanelWord, facts: OverFacts) -> str:
    if word is PanelWord.ALIKE:
        if facts.at_most is None:
            return "; the casks of most sessions are alike among themselves"
        return f"; no two samples differ by more than {points(facts.at_most)}"
    if word is PanelWord.DO_NOT:
        return f", which would miss a difference of less than {points(facts.seen_difference)}"
    if word is PanelWord.TOO_LITTLE:
        samples, duplicates = facts.n_samples, facts.n_duplicates
        return f", on {count(samples, 'sample')} and {count(duplicates, 'blind duplicate')} only"
    return _REASONS.get(word, "")


_REASONS = {
    PanelWord.CANNOT_TELL: "; the samples are neither surely apart nor surely alike",
    PanelWord.CAMPS: (
        ", but of one camp, the other the opposite way round: which is right, it cannot tell"
    ),
}


_ACTIONS = {
    PanelWord.SAFE: "keep it as it is",
    PanelWord.ALIKE: "ask whether this note earns its place on the sheet",
    PanelWord.CANNOT_TELL: "nose more unlike casks together, or these once more",
    PanelWord.DO_NOT: "rewrite what is meant, or make a new reference, and train on it once more",
    PanelWord.CAMPS: CAMPS_ACTION,
    PanelWord.TOO_LITTLE: "pour six samples and two blind duplicates a session",
}
"""What to do about a note over sessions, but for a second look."""


def _action(word: PanelWord, facts: OverFacts, settings: AgreementSettings) -> str:
    if word is PanelWord.ALIKE and facts.descriptor in settings.ought_to_be_absent:
        return IS_ABSENT
    if word in _ACTIONS:
        return _ACTIONS[word]
    seen = points(facts.seen_difference)
    return f"nose its reference before each session and trust differences of {seen} or more"


_GRADE = {PanelWord.SAFE: 2, PanelWord.SECOND_LOOK: 1, PanelWord.ALIKE: 0, PanelWord.DO_NOT: 0}
_FAR = 2
"""Grades apart from which on two verdicts tell different stories."""


_CAMPS_BESIDE = (
    "Over several sessions a reliability says nothing of this note while the panel is in two camps "
    f"on it: {CAMPS_ACTION}."
)


def beside_evening(facts: OverFacts, tonight: PanelWord, settings: AgreementSettings) -> str:
    """Say what all sessions say beside the verdict of one, and what to do where they differ."""
    house, evening = reliability_word(facts, settings), tonight
    told = f"Over {count(facts.n_sessions, 'session')}: {_told(facts)}"
    if evening is PanelWord.CAMPS:
        return _CAMPS_BESIDE
    if abs(_GRADE.get(house, 1) - _GRADE.get(evening, 1)) < _FAR:
        return f"{told}."
    if evening is PanelWord.ALIKE:
        return f"{told}: it is these casks that lie close, others are told apart on it."
    if evening is PanelWord.DO_NOT:
        action = (
            "look at this session first (glasses, order, room) and nose the flight again before "
            "giving up the note"
        )
    else:
        action = "do not lean on one good evening: nose the deciding pair once more"
    return f"{told}, which is another story than this session's: {action}."


@dataclass(frozen=True)
class TwoWords:
    """One assessor on one descriptor: this session's word, and that of the last few."""

    descriptor: str
    evening: AssessorWord | None
    lately: AssessorWord | None
    n_sessions: int
    signal_share: float | None


_WITH = (AssessorWord.WITH, AssessorWord.WIDER, AssessorWord.NARROWER)


def two_stories(assessor: str, notes: Sequence[TwoWords]) -> str | None:
    """Say where an evening and the sessions before it differ about a person; None if nowhere."""
    for evening, action in _UNLIKE_THEM:
        found = [note for note in notes if note.evening is evening and note.lately in _WITH]
        if found:
            first = found[0]
            said = (
                f"{assessor} usually reads with the panel on {_notes(found)} (signal share "
                f"{in_digits(first.signal_share, '.2f')} over "
                f"{count(first.n_sessions, 'session')}), so this "
                "session is another story"
            )
            return f"{said}: {action}."
    for lately, what in _HABITS:
        found = [note for note in notes if note.lately is lately and note.evening in _WITH]
        if found:
            n = count(found[0].n_sessions, "session")
            said = f"{assessor} read with the panel on {_notes(found)} this time, but {what} over"
            return f"{said} {n}: ask what was done differently, and keep to it."
    return None


_UNLIKE_THEM = (
    (AssessorWord.REVERSED, "look for a swapped glass first"),
    (AssessorWord.FLAT, "give this session's scores on it little weight"),
)
_HABITS = (
    (AssessorWord.REVERSED, "is the opposite way round there"),
    (AssessorWord.UNSTEADY, "is less steady there"),
)
_NAMED = 3


def _notes(found: Sequence[TwoWords]) -> str:
    names = [note.descriptor for note in found]
    more = len(names) - _NAMED
    return listed(names[:_NAMED]) + (f" and {count(more, 'more note')}" if more > 0 else "")
