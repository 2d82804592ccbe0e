"""Sentences on an assessor over several sessions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ...counted import count
from ...digits import in_digits
from .words import (
    AGREE_ON_ENDS,
    MORE_IS_NOT_IT,
    OTHER_CASKS_DECIDE,
    AssessorWord,
    Verdict,
    listed,
    points,
)

AssessorVerdict = Verdict[AssessorWord]


@dataclass(frozen=True)
class SpanNoteFacts:
    """One assessor on one descriptor over the span; distances in points of the 0-100 line."""

    descriptor: str
    word: AssessorWord | None
    n_sessions: int
    slope: float | None
    repeat_points: float | None
    usual_repeat_points: float | None
    moving: AssessorVerdict | None


@dataclass(frozen=True)
class SpanPersonFacts:
    """One assessor over all notes and sessions, which goes before what a single note says.

    Attributes
    ----------
    passed, against
        Whether the person reads with the panel, or surely the other way round.
    habit
        A wider or narrower line, or less steady than the others; None for neither.
    scale, unsteady
        Points for one point of the others; distance of two nosings for one of theirs.
    correlation, n_told
        With the others, on so many notes that they told apart, counted once a session.
    more, short
        About so many more sessions of other casks would decide; or all is known, and the
        correlation is too low.
    n_sessions, missing_rate
        In which the person was there, and the share of lines left blank.
    camps
        Notes on which the panel is in two camps, by which nobody is judged.
    """

    passed: bool
    against: bool
    habit: AssessorWord | None
    scale: float | None
    unsteady: float | None
    correlation: float | None
    n_told: int
    more: int | None
    short: bool
    n_sessions: int
    missing_rate: float
    camps: tuple[str, ...] = ()


def span_assessor_verdict(
    assessor: str,
    notes: Sequence[SpanNoteFacts],
    person: SpanPersonFacts,
    moving: AssessorVerdict | None,
) -> AssessorVerdict:
    """Sum up an assessor over several sessions: what needs talking about first.

    `moving` is said of all notes together.
    """
    reversed_on = [note for note in notes if note.word is AssessorWord.REVERSED]
    if reversed_on or person.against:
        return _reversed(assessor, reversed_on, person)
    moves = [note for note in notes if note.moving is not None]
    if moving is not None or moves:
        return moving or _moving(moves)
    if person.habit is not None:
        return _habit(assessor, person.habit, notes, person)
    if not person.passed:
        return _undecided(assessor, person)
    action = "nothing to do"
    if person.missing_rate > _MANY_BLANKS:
        action = f"ask why {100.0 * person.missing_rate:.0f} in 100 lines were left blank"
    return Verdict(AssessorWord.WITH, f"{assessor} {_reads(notes, person)}", action)


_MANY_BLANKS = 0.05
_READ = (AssessorWord.WITH, AssessorWord.WIDER, AssessorWord.NARROWER)


def _reads(notes: Sequence[SpanNoteFacts], person: SpanPersonFacts) -> str:
    read = sum(note.word in _READ for note in notes)
    where = f"on {count(read, 'note')}" if read else "over all notes together"
    shown = (
        ""
        if person.correlation is None
        else (f" (correlation {in_digits(person.correlation, '.2f')})")
    )
    return f"reads with the panel {where} over {count(person.n_sessions, 'session')}{shown}"


def _others(notes: Sequence[SpanNoteFacts]) -> str:
    return _first([note.descriptor for note in notes])


def _first(names: Sequence[str]) -> str:
    more = len(names) - 3
    return listed(list(names[:3])) + (f" and {count(more, 'more note')}" if more > 0 else "")


def _reversed(
    assessor: str, notes: Sequence[SpanNoteFacts], person: SpanPersonFacts
) -> AssessorVerdict:
    n = max((note.n_sessions for note in notes), default=person.n_sessions)
    what = _others(notes) if notes else "the notes taken together"
    said = f"{assessor} has {what} the opposite way round over {count(n, 'session')}"
    action = "go through the words at both ends of the line with the reference in hand"
    return Verdict(AssessorWord.REVERSED, said, action)


def _moving(notes: Sequence[SpanNoteFacts]) -> AssessorVerdict:
    first = notes[0].moving
    if first is None:
        raise ValueError("no note moves")
    if len(notes) == 1:
        return first
    return replace(first, said=f"{first.said} (and likewise on {_others(notes[1:])})")


def _habit(
    assessor: str, word: AssessorWord, notes: Sequence[SpanNoteFacts], person: SpanPersonFacts
) -> AssessorVerdict:
    """A way with the line or with repeats, which holds over all notes together."""
    first = f"{assessor} {_reads(notes, person)} but" if person.passed else assessor
    found = [note for note in notes if note.word is word]
    if word is AssessorWord.UNSTEADY:
        what = (
            f"is less steady than the others, {in_digits(person.unsteady, '.1f')} "
            "times as far from one nosing"
        )
        what += f" to the next over all notes{_unsteady_at(found)}"
        return Verdict(
            word, f"{first} {what}", "slow down and nose the reference before each flight"
        )
    what = f"{word}, {in_digits(person.scale, '.1f')} points for one of the others' over all notes"
    if found:
        furthest = max(found, key=lambda note: abs((note.slope or 1.0) - 1.0))
        what += f" ({in_digits(furthest.slope, '.1f')} on {furthest.descriptor})"
    return Verdict(word, f"{first} {what}", "look at the words at both ends of the line together")


def _unsteady_at(notes: Sequence[SpanNoteFacts]) -> str:
    if not notes:
        return ""
    worst = max(notes, key=lambda note: note.repeat_points or 0.0)
    usual = points(worst.usual_repeat_points)
    return f" ({points(worst.repeat_points)} on {worst.descriptor} where {usual} is usual)"


def _undecided(assessor: str, person: SpanPersonFacts) -> AssessorVerdict:
    over = count(person.n_sessions, "session")
    if person.camps and not person.n_told:
        said = (
            f"{assessor} was there in {over}, in which the panel is in two camps on "
            f"{_first(person.camps)}, and nobody can be judged by that"
        )
        return Verdict(AssessorWord.TOO_LITTLE, said, AGREE_ON_ENDS)
    if person.correlation is None or not person.n_told:
        said = f"{assessor} was there in {over}, in which nobody can be judged"
        action = "judge nobody by it: that takes five assessors, and notes on which they agree"
        return Verdict(AssessorWord.TOO_LITTLE, said, action)
    said = (
        f"{assessor} is neither surely with the panel nor against it over {over} (correlation "
        f"{in_digits(person.correlation, '.2f')} on what the others told apart, "
        f"{person.n_told} times a note)"
    )
    action = "let the next sessions decide"
    if person.short:
        action = MORE_IS_NOT_IT
    elif person.more is not None:
        action = OTHER_CASKS_DECIDE
    return Verdict(AssessorWord.CANNOT_TELL, said, action)
