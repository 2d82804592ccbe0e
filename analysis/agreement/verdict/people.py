"""Sentences on an assessor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...counted import count, plural
from ...digits import in_digits
from .words import (
    AGREE_ON_ENDS,
    AT_THE_REVEAL,
    MORE_IS_NOT_IT,
    OTHER_CASKS_DECIDE,
    AssessorWord,
    Verdict,
    listed,
    points,
)


@dataclass(frozen=True)
class NoteFacts:
    """One assessor on one descriptor, for the sentence; distances in points of the 0-100 line.

    `told_apart` says whether the panel as a whole separated the samples on it, without which
    nobody is judged by it; `others_span` is how far apart one of the others puts the same glasses,
    the middle one of them.
    """

    descriptor: str
    word: AssessorWord | None
    told_apart: bool
    span: float | None
    others_span: float | None
    repeat_points: float | None
    usual_repeat_points: float | None


@dataclass(frozen=True)
class PersonFacts:
    """One assessor over all notes, for the sentence.

    Attributes
    ----------
    passed
        Whether the person reads with the panel, all notes together.
    habit
        A wider or narrower line, or less steady than the others; None for neither.
    scale, unsteady
        Points for one point of the others; distance of two nosings for one of theirs.
    correlation, signal_share
        With the others, and of late.
    n_told
        Notes that the others told apart.
    more, short
        About so many more sessions of other casks would decide; or enough is known, and it is
        too little.
    n_missing
        Lines left blank.
    repeats_within
        Points within which two nosings lie, all notes together; None where too few came back.
    hidden
        Which glasses were poured twice is not told yet.
    camps
        Notes on which the panel is in two camps tonight.
    """

    passed: bool
    habit: AssessorWord | None
    scale: float | None
    unsteady: float | None
    correlation: float | None
    n_told: int
    more: int | None
    short: bool
    signal_share: float | None
    n_missing: int
    repeats_within: float | None
    hidden: bool
    camps: tuple[str, ...] = ()


def assessor_verdict(
    assessor: str, notes: Sequence[NoteFacts], person: PersonFacts
) -> Verdict[AssessorWord]:
    """Sum up one assessor in a sentence: the rule first, then the note that needs work."""
    judged = [note for note in notes if note.word is not None]
    word = _of_these_glasses(judged, person)
    if word is not None:
        worst = _worst([note for note in judged if note.word is word])
        also = sum(note.word is word for note in judged) - 1
        return _note_sentence(assessor, worst, also)
    if person.habit is not None:
        return _habit(assessor, person.habit, judged, person)
    if not person.passed:
        return _unjudged(assessor, person)
    sentence = f"{_with(assessor, judged, person)}{_closeness(person)}"
    others = [note for note in judged if note.word not in _WITH]
    if others:
        what, action = _note_words(_worst(others))
        return Verdict(AssessorWord.WITH, f"{sentence} but {what}", action)
    if person.n_missing:
        blank = f"{person.n_missing} {plural('line', person.n_missing)}"
        action = f"ask why {blank} {'was' if person.n_missing == 1 else 'were'} left blank"
        return Verdict(AssessorWord.WITH, sentence, action)
    return Verdict(AssessorWord.WITH, sentence, "nothing to do")


def _with(assessor: str, judged: Sequence[NoteFacts], person: PersonFacts) -> str:
    """Where somebody reads with the panel: note by note if it can be said, else together."""
    read, told = sum(note.word in _WITH for note in judged), person.n_told
    if not read or not told:
        return f"{assessor} reads with the panel over all notes together"
    of = "" if told == 1 else f"{read} of "
    return f"{assessor} reads with the panel on {of}{_told(told)}"


def _habit(
    assessor: str, word: AssessorWord, judged: Sequence[NoteFacts], person: PersonFacts
) -> Verdict[AssessorWord]:
    """A way with the line or with repeats, which holds over all notes together."""
    first = f"{_with(assessor, judged, person)} but" if person.passed else assessor
    found = [note for note in judged if note.word is word and _shows(note)]
    if word is AssessorWord.UNSTEADY:
        what = (
            f"is less steady than the others, {in_digits(person.unsteady, '.1f')} "
            "times as far from one nosing"
        )
        what += " to the next over all notes"
        action = "slow down and nose the reference before each flight"
    else:
        what = (
            f"{word}, {in_digits(person.scale, '.1f')} points for one of the others' over all notes"
        )
        action = "look at the words at both ends of the line together"
    if found:
        worst = _worst(found)
        what += f" ({_at(worst, word)})"
    return Verdict(word, f"{first} {what}", action)


def _shows(note: NoteFacts) -> bool:
    """Whether the note's own figures show what is said of the person over all notes."""
    if note.span is None or note.others_span is None:
        return note.word is AssessorWord.UNSTEADY
    if note.word is AssessorWord.NARROWER:
        return note.span < note.others_span
    return note.word is not AssessorWord.WIDER or note.span > note.others_span


def _at(note: NoteFacts, word: AssessorWord) -> str:
    if word is AssessorWord.UNSTEADY:
        usual = points(note.usual_repeat_points)
        return f"{points(note.repeat_points)} on {note.descriptor} where {usual} is usual"
    return (
        f"{points(note.span)} on {note.descriptor} where one of the others uses "
        f"{points(note.others_span)}"
    )


def _closeness(person: PersonFacts) -> str:
    parts = (
        []
        if person.correlation is None
        else [f"correlation {in_digits(person.correlation, '.2f')}"]
    )
    share = person.signal_share
    parts += [] if share is None else [f"signal share {in_digits(share, '.2f')} of late"]
    return f" ({', '.join(parts)})" if parts else ""


_WITH = (AssessorWord.WITH, AssessorWord.WIDER, AssessorWord.NARROWER)


def _of_these_glasses(judged: Sequence[NoteFacts], person: PersonFacts) -> AssessorWord | None:
    """Whether it is these glasses that are to be looked at, before the person is spoken of."""
    reversed_on, flat_on = (
        sum(note.word is word for note in judged)
        for word in (AssessorWord.REVERSED, AssessorWord.FLAT)
    )
    if reversed_on and (3 * reversed_on >= len(judged) or not person.passed):
        return AssessorWord.REVERSED
    if flat_on and not person.passed:
        return AssessorWord.FLAT
    return None


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
            f"is less steady than the others on {on}, {points(note.repeat_points)} between one "
            f"nosing and the next where {usual} is usual",
            "slow down on this note and nose the reference before each flight",
        )
    wide = note.word is AssessorWord.WIDER
    return (
        f"uses a {'wider' if wide else 'narrower'} line on {on}, {points(note.span)} where one of "
        f"the others uses {points(note.others_span)}",
        "look at the words at both ends of the line together",
    )


def _first(names: Sequence[str]) -> str:
    more = [f"{count(len(names) - 3, 'more note')}"] if len(names) > 3 else []
    return listed([*names[:3], *more])


def _told(number: int) -> str:
    return "the one note it told apart" if number == 1 else f"the {number} notes it told apart"


def _unjudged(assessor: str, person: PersonFacts) -> Verdict[AssessorWord]:
    correlation = person.correlation
    if (person.more is not None or person.short) and correlation is not None:
        over = f"on {_told(person.n_told)}" if person.n_told else "over the last sessions"
        sentence = (
            f"{assessor} is neither surely with the panel nor against it {over} "
            f"(correlation {in_digits(correlation, '.2f')})"
        )
        action = MORE_IS_NOT_IT
        if person.more is not None:
            action = OTHER_CASKS_DECIDE
        return Verdict(AssessorWord.CANNOT_TELL, sentence, action)
    closeness = (
        ""
        if correlation is None
        else (f", correlation with the others {in_digits(correlation, '.2f')}")
    )
    if person.camps and not person.n_told:
        said = f"cannot be judged while the panel is in two camps on {_first(person.camps)}"
        action = AGREE_ON_ENDS
    elif person.repeats_within is not None:
        said = f"repeats within {points(person.repeats_within)}"
        action = (
            "judge nobody by it: that takes five assessors, and notes on which they tell glasses "
            "apart"
        )
    elif person.hidden:
        said, action = "is not known yet to have nosed a glass twice", AT_THE_REVEAL
    else:
        said = "nosed too few glasses twice to say how near"
        action = "pour two blind duplicates next time"
    return Verdict(AssessorWord.TOO_LITTLE, f"{assessor} {said}{closeness}", action)


def private_sentence(assessor: str, descriptor: str, n_sessions: int) -> tuple[str, str]:
    """Say, to the person and the lead only, that a note seems not to be smelled."""
    action = "offer the reference at two strengths, in private, and leave it at that if declined"
    said = (
        f"{assessor} has not separated the glasses on {descriptor} over {n_sessions} sessions "
        f"in which the others did: {action}."
    )
    return said, action
