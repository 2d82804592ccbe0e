"""Sentences on several sessions together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analysis.agreement.verdict.words import (
    AssessorWord,
    PanelWord,
    Verdict,
    capital,
    count,
    listed,
    points,
    verdict,
)


@dataclass(frozen=True)
class SpanNoteFacts:
    """One assessor on one descriptor over the span; distances in points of the 0-100 line."""

    descriptor: str
    word: AssessorWord | None
    n_sessions: int
    slope: float | None
    repeat_points: float | None
    usual_repeat_points: float | None
    moving: Verdict | None


def span_assessor_verdict(
    assessor: str,
    notes: Sequence[SpanNoteFacts],
    n_sessions: int,
    missing_rate: float,
    moving: Verdict | None,
) -> Verdict:
    """Sum up an assessor over several sessions: what needs talking about first.

    `moving` is said of all notes together.
    """
    reversed_on = [note for note in notes if note.word is AssessorWord.REVERSED]
    if reversed_on:
        return _reversed(assessor, reversed_on)
    moves = [note for note in notes if note.moving is not None]
    if moving is not None or moves:
        return moving or _moving(moves)
    return _unmoved(assessor, notes, n_sessions, missing_rate)


def _unmoved(
    assessor: str, notes: Sequence[SpanNoteFacts], n_sessions: int, missing_rate: float
) -> Verdict:
    """What is said of somebody who stays where he is."""
    steady = [note for note in notes if note.word is AssessorWord.WITH]
    judged = sum(note.word is not None for note in notes)
    for word, say in sorted(_SAID, key=lambda said: -sum(note.word is said[0] for note in notes)):
        found = [note for note in notes if note.word is word]
        if found and (_MANY * len(found) >= judged or not steady):
            return say(assessor, found)
        if found:
            return _but(assessor, len(steady), judged, say(assessor, found))
    if not steady:
        said = f"{assessor} was there in {count(n_sessions, 'session')}, too little to call"
        return verdict(AssessorWord.TOO_LITTLE, said, "let the next sessions decide")
    said = (
        f"{assessor} reads with the panel on {count(len(steady), 'note')} over "
        f"{count(n_sessions, 'session')}"
    )
    if missing_rate > _MANY_BLANKS:
        action = f"ask why {100.0 * missing_rate:.0f} in 100 lines were left blank"
        return verdict(AssessorWord.WITH, said, action)
    return verdict(AssessorWord.WITH, said, "nothing to do")


_MANY_BLANKS = 0.05
_MANY = 3
"""From every third note on it is a habit of the person, below it is a matter of that note."""


def _but(assessor: str, steady: int, judged: int, said: Verdict) -> Verdict:
    """Reads with the panel, with an exception."""
    exception = said.sentence.removesuffix(f": {said.next_action}.").removeprefix(f"{assessor} ")
    sentence = (
        f"{assessor} reads with the panel on {steady} of {count(judged, 'note')} but {exception}"
    )
    return verdict(AssessorWord.WITH, sentence, said.next_action)


def _others(notes: Sequence[SpanNoteFacts]) -> str:
    names = [note.descriptor for note in notes]
    more = len(names) - 3
    return listed(names[:3]) + (f" and {count(more, 'more note')}" if more > 0 else "")


def _reversed(assessor: str, notes: Sequence[SpanNoteFacts]) -> Verdict:
    n = max(note.n_sessions for note in notes)
    said = f"{assessor} has {_others(notes)} the opposite way round over {count(n, 'session')}"
    action = "go through the words at both ends of the line with the reference in hand"
    return verdict(AssessorWord.REVERSED, said, action)


def _moving(notes: Sequence[SpanNoteFacts]) -> Verdict:
    first = notes[0].moving
    if first is None:
        raise ValueError("no note moves")
    if len(notes) == 1:
        return first
    sentence = first.sentence.removesuffix(f": {first.next_action}.")
    also = f"{sentence} (and likewise on {_others(notes[1:])})"
    return verdict(first.word, also, first.next_action)


def _unsteady(assessor: str, notes: Sequence[SpanNoteFacts]) -> Verdict:
    worst = max(notes, key=lambda note: note.repeat_points or 0.0)
    where = "" if len(notes) == 1 else f" on {worst.descriptor}"
    said = (
        f"{assessor} is unsteady on {_others(notes)}, {points(worst.repeat_points)} between one "
        f"nosing and the next{where} where {points(worst.usual_repeat_points)} is usual"
    )
    action = "slow down on this note and nose the reference before each flight"
    return verdict(AssessorWord.UNSTEADY, said, action)


def _wider(assessor: str, notes: Sequence[SpanNoteFacts]) -> Verdict:
    return _width(AssessorWord.WIDER, assessor, notes)


def _narrower(assessor: str, notes: Sequence[SpanNoteFacts]) -> Verdict:
    return _width(AssessorWord.NARROWER, assessor, notes)


def _width(word: AssessorWord, assessor: str, notes: Sequence[SpanNoteFacts]) -> Verdict:
    furthest = max(notes, key=lambda note: abs((note.slope or 1.0) - 1.0))
    where = "" if len(notes) == 1 else f" on {furthest.descriptor}"
    said = (
        f"{assessor} {word} on {_others(notes)}, {furthest.slope:.1f} points for one of the "
        f"others'{where}"
    )
    return verdict(word, said, "look at the words at both ends of the line together")


_SAID = (
    (AssessorWord.UNSTEADY, _unsteady),
    (AssessorWord.NARROWER, _narrower),
    (AssessorWord.WIDER, _wider),
)


def span_descriptor_verdict(
    descriptor: str, verdicts: Mapping[str, int], moving: Verdict | None
) -> Verdict:
    """Sum up a descriptor over several sessions."""
    judged = sum(n for word, n in verdicts.items() if word != PanelWord.TOO_LITTLE)
    total = sum(verdicts.values())
    parts = [f"{word!s} in {n}" for word in PanelWord if (n := verdicts.get(word, 0))]
    said = f"{capital(descriptor)} over {count(total, 'session')}: {', '.join(parts)}"
    if moving is not None:
        return verdict(moving.word, f"{said}; {_plain(moving)}", moving.next_action)
    if judged == 0:
        action = "pour six samples and two blind duplicates a session"
        return verdict(PanelWord.TOO_LITTLE, said, action)
    if 2 * verdicts.get(PanelWord.DO_NOT, 0) > judged:
        action = "rewrite what is meant, or make a new reference, and train on it once more"
        return verdict(PanelWord.DO_NOT, said, action)
    if 2 * verdicts.get(PanelWord.SAFE, 0) > judged:
        return verdict(PanelWord.SAFE, said, "keep it as it is")
    if 2 * verdicts.get(PanelWord.ALIKE, 0) > judged:
        return verdict(PanelWord.ALIKE, said, "ask whether this note earns its place on the sheet")
    return verdict(PanelWord.SECOND_LOOK, said, "nose its reference before each session")


def with_moving(said: Verdict, moving: Verdict | None) -> Verdict:
    """What is said of a note, and that the panel moves on its reference, which goes first."""
    if moving is None:
        return said
    sentence = said.sentence.removesuffix(f": {said.next_action}.")
    return verdict(moving.word, f"{sentence}; {_plain(moving)}", moving.next_action)


def _plain(said: Verdict) -> str:
    sentence = said.sentence.removesuffix(f": {said.next_action}.")
    return sentence[:1].lower() + sentence[1:]


def span_sentence(
    n_sessions: int,
    dates: tuple[str, str],
    words: Mapping[str, int],
    moving: Sequence[str],
) -> Verdict:
    """Sum up a span in one line; `moving` names who moves, the panel included."""
    parts = [f"{n} {word!s}" for word in PanelWord if (n := words.get(word, 0))]
    said = (
        f"{count(n_sessions, 'session')} from {dates[0]} to {dates[1]}: "
        f"{', '.join(parts) if parts else 'none could be judged'}"
    )
    if moving:
        said += f"; moving on the hidden reference: {listed(list(moving[:4]))}"
        more = len(moving) - 4
        said += f" and {count(more, 'other')}" if more > 0 else ""
        return verdict(PanelWord.SECOND_LOOK, said, "nose the reference together before the next")
    return verdict(*_span_action(words, said))


def _span_action(words: Mapping[str, int], said: str) -> tuple[str, str, str]:
    judged = sum(words.values())
    if 2 * words.get(PanelWord.TOO_LITTLE, 0) >= max(judged, 1):
        action = "pour six samples and two blind duplicates a session"
        return PanelWord.TOO_LITTLE, said, action
    if 2 * words.get(PanelWord.DO_NOT, 0) >= judged:
        return PanelWord.DO_NOT, said, "train on the references before the next session"
    if 2 * words.get(PanelWord.SAFE, 0) > judged:
        return PanelWord.SAFE, said, "nothing to change"
    return PanelWord.SECOND_LOOK, said, "go through the notes below that are not safe"
