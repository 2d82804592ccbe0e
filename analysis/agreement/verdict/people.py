"""Sentences on an assessor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analysis.agreement.verdict.words import (
    AT_THE_REVEAL,
    AssessorWord,
    Verdict,
    count,
    plural,
    points,
)


@dataclass(frozen=True)
class NoteFacts:
    """One assessor on one descriptor, for the sentence; distances in points of the 0-100 line.

    `told_apart` says whether the panel as a whole separated the samples on it, without which
    nobody is judged by it; `hidden` that which glasses were poured twice is not told yet.
    """

    descriptor: str
    word: AssessorWord | None
    told_apart: bool
    span: float | None
    others_span: float | None
    repeat_points: float | None
    usual_repeat_points: float | None
    hidden: bool = False


def assessor_verdict(
    assessor: str,
    notes: Sequence[NoteFacts],
    correlation: float | None,
    n_missing: int,
    signal_share: float | None = None,
) -> Verdict[AssessorWord]:
    """Sum up one assessor in a sentence: the rule first, then the note that needs work."""
    judged = [note for note in notes if note.word is not None]
    if not judged:
        return _unjudged(assessor, notes, correlation)
    word = _main_word(judged)
    if word is not AssessorWord.WITH:
        worst = _worst([note for note in judged if note.word is word])
        also = sum(note.word is word for note in judged) - 1
        return _note_sentence(assessor, worst, also)
    others = [note for note in judged if note.word not in _WITH]
    closeness = _closeness(correlation, signal_share)
    told = sum(note.told_apart for note in notes)
    read = sum(note.word in _WITH for note in judged)
    of = "" if told == 1 else f"{read} of "
    sentence = f"{assessor} reads with the panel on {of}{_told(told)}{closeness}"
    if others:
        worst = _worst(others)
        what, action = _note_words(worst)
        return Verdict(AssessorWord.WITH, f"{sentence} but {what}", action)
    if n_missing:
        blank = f"{n_missing} {plural('line', n_missing)}"
        action = f"ask why {blank} {'was' if n_missing == 1 else 'were'} left blank"
        return Verdict(AssessorWord.WITH, sentence, action)
    return Verdict(AssessorWord.WITH, sentence, "nothing to do")


def _closeness(correlation: float | None, signal_share: float | None) -> str:
    parts = [] if correlation is None else [f"correlation {correlation:.2f}"]
    parts += [] if signal_share is None else [f"signal share {signal_share:.2f} of late"]
    return f" ({', '.join(parts)})" if parts else ""


_WITH = (AssessorWord.WITH, AssessorWord.WIDER, AssessorWord.NARROWER)


def _main_word(judged: Sequence[NoteFacts]) -> AssessorWord:
    """The word that holds for this assessor as a whole."""

    def share(word: AssessorWord) -> float:
        return sum(note.word is word for note in judged) / len(judged)

    if share(AssessorWord.REVERSED) >= 1 / 3:
        return AssessorWord.REVERSED
    for word in _URGENCY[1:]:
        if share(word) > 1 / 2:
            return word
    if not any(note.word in _WITH for note in judged):
        return _worst(judged).word or AssessorWord.WITH
    return AssessorWord.WITH


_URGENCY = (
    AssessorWord.REVERSED,
    AssessorWord.FLAT,
    AssessorWord.UNSTEADY,
    AssessorWord.NARROWER,
    AssessorWord.WIDER,
)


def _worst(notes: Sequence[NoteFacts]) -> NoteFacts:
    """The note to speak of first: the most urgent word, then the first name."""
    ranks: dict[AssessorWord | None, int] = {word: rank for rank, word in enumerate(_URGENCY)}
    return min(notes, key=lambda note: (ranks.get(note.word, len(ranks)), note.descriptor))


def _note_sentence(assessor: str, note: NoteFacts, also: int) -> Verdict[AssessorWord]:
    what, action = _note_words(note)
    more = f" (and likewise on {count(also, 'more note')})" if also else ""
    word = note.word or AssessorWord.WITH
    return Verdict(word, f"{assessor} {what}{more}", action)


def _note_words(note: NoteFacts) -> tuple[str, str]:
    on = note.descriptor
    if note.word is AssessorWord.REVERSED:
        return (
            f"has {on} the opposite way round over {points(note.span)}",
            "check for a swapped glass first",
        )
    if note.word is AssessorWord.FLAT:
        return (
            f"did not separate these glasses on {on}, {points(note.span)} in all",
            "nose the two references again",
        )
    if note.word is AssessorWord.UNSTEADY:
        usual = points(note.usual_repeat_points)
        return (
            f"is unsteady on {on}, {points(note.repeat_points)} between one nosing and the "
            f"next where {usual} is usual",
            "slow down on this note and nose the reference before each flight",
        )
    wide = note.word is AssessorWord.WIDER
    return (
        f"uses a {'wider' if wide else 'narrower'} line on {on}, {points(note.span)} where the "
        f"others use {points(note.others_span)}",
        "look at the words at both ends of the line together",
    )


def _told(number: int) -> str:
    return "the one note it told apart" if number == 1 else f"the {number} notes it told apart"


def _unjudged(
    assessor: str, notes: Sequence[NoteFacts], correlation: float | None
) -> Verdict[AssessorWord]:
    told = [note for note in notes if note.told_apart]
    if told and correlation is not None:
        sentence = (
            f"{assessor} is neither surely with the panel nor against it on "
            f"{_told(len(told))} (correlation {correlation:.2f})"
        )
        return Verdict(AssessorWord.TOO_LITTLE, sentence, "let the next session decide")
    repeats = [note.repeat_points for note in notes if note.repeat_points is not None]
    closeness = "" if correlation is None else f", correlation with the others {correlation:.2f}"
    if repeats:
        middle = sorted(repeats)[len(repeats) // 2]
        said = f"{assessor} repeats within {points(middle)}{closeness}"
        action = "judge nobody by a session in which the panel told so little apart"
    else:
        hidden = any(note.hidden for note in notes)
        twice = "is not known yet to have nosed a glass" if hidden else "nosed no glass"
        said = f"{assessor} {twice} twice{closeness}"
        action = AT_THE_REVEAL if hidden else "pour a blind duplicate next time"
    return Verdict(AssessorWord.TOO_LITTLE, said, action)


def private_sentence(assessor: str, descriptor: str, n_sessions: int) -> tuple[str, str]:
    """Say, to the person and the lead only, that a note seems not to be smelled."""
    action = "offer the reference at two strengths, in private, and leave it at that if declined"
    said = (
        f"{assessor} has not separated the glasses on {descriptor} over {n_sessions} sessions "
        f"in which the others did: {action}."
    )
    return said, action
