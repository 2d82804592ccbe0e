"""Sentences on several sessions together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from analysis.agreement.settings import AgreementSettings
from analysis.agreement.verdict.words import (
    IS_ABSENT,
    ONE_MIND_ACTION,
    AssessorWord,
    PanelWord,
    Verdict,
    capital,
    count,
    listed,
    points,
)

AssessorVerdict = Verdict[AssessorWord]
NoteVerdict = Verdict[PanelWord | AssessorWord]
"""Of a note over several sessions: what the panel's scores are good for, or that it moves."""


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


def span_assessor_verdict(
    assessor: str,
    notes: Sequence[SpanNoteFacts],
    n_sessions: int,
    missing_rate: float,
    moving: AssessorVerdict | None,
) -> AssessorVerdict:
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
) -> AssessorVerdict:
    """What is said of somebody who stays where he is."""
    steady = [note for note in notes if note.word is AssessorWord.WITH]
    judged = sum(note.word is not None for note in notes)
    for word, say in sorted(_HABITS, key=lambda habit: -_number(notes, habit[0])):
        found = [note for note in notes if note.word is word]
        if found:
            what, action = say(found)
            if _MANY * len(found) >= judged or not steady:
                return Verdict(word, f"{assessor} {what}", action)
            some = f"{len(steady)} of {count(judged, 'note')}"
            said = f"{assessor} reads with the panel on {some} but {what}"
            return Verdict(AssessorWord.WITH, said, action)
    if not steady:
        said = f"{assessor} was there in {count(n_sessions, 'session')}, too little to call"
        return Verdict(AssessorWord.CANNOT_TELL, said, "let the next sessions decide")
    said = (
        f"{assessor} reads with the panel on {count(len(steady), 'note')} over "
        f"{count(n_sessions, 'session')}"
    )
    action = "nothing to do"
    if missing_rate > _MANY_BLANKS:
        action = f"ask why {100.0 * missing_rate:.0f} in 100 lines were left blank"
    return Verdict(AssessorWord.WITH, said, action)


_MANY_BLANKS = 0.05
_MANY = 3
"""From every third note on it is a habit of the person, below it is a matter of that note."""


def _number(notes: Sequence[SpanNoteFacts], word: AssessorWord) -> int:
    return sum(note.word is word for note in notes)


def _others(notes: Sequence[SpanNoteFacts]) -> str:
    names = [note.descriptor for note in notes]
    more = len(names) - 3
    return listed(names[:3]) + (f" and {count(more, 'more note')}" if more > 0 else "")


def _reversed(assessor: str, notes: Sequence[SpanNoteFacts]) -> AssessorVerdict:
    n = max(note.n_sessions for note in notes)
    said = f"{assessor} has {_others(notes)} the opposite way round over {count(n, 'session')}"
    action = "go through the words at both ends of the line with the reference in hand"
    return Verdict(AssessorWord.REVERSED, said, action)


def _moving(notes: Sequence[SpanNoteFacts]) -> AssessorVerdict:
    first = notes[0].moving
    if first is None:
        raise ValueError("no note moves")
    if len(notes) == 1:
        return first
    return replace(first, said=f"{first.said} (and likewise on {_others(notes[1:])})")


def _unsteady(notes: Sequence[SpanNoteFacts]) -> tuple[str, str]:
    worst = max(notes, key=lambda note: note.repeat_points or 0.0)
    where = "" if len(notes) == 1 else f" on {worst.descriptor}"
    what = (
        f"is less steady than the others on {_others(notes)}, {points(worst.repeat_points)} "
        f"between one nosing and the next{where} where {points(worst.usual_repeat_points)} is usual"
    )
    return what, "slow down on this note and nose the reference before each flight"


def _wider(notes: Sequence[SpanNoteFacts]) -> tuple[str, str]:
    return _width(AssessorWord.WIDER, notes)


def _narrower(notes: Sequence[SpanNoteFacts]) -> tuple[str, str]:
    return _width(AssessorWord.NARROWER, notes)


def _width(word: AssessorWord, notes: Sequence[SpanNoteFacts]) -> tuple[str, str]:
    furthest = max(notes, key=lambda note: abs((note.slope or 1.0) - 1.0))
    where = "" if len(notes) == 1 else f" on {furthest.descriptor}"
    what = f"{word} on {_others(notes)}, {furthest.slope:.1f} points for one of the others'{where}"
    return what, "look at the words at both ends of the line together"


_HABITS = (
    (AssessorWord.UNSTEADY, _unsteady),
    (AssessorWord.NARROWER, _narrower),
    (AssessorWord.WIDER, _wider),
)
"""What is said of a person's habits, and what to do: each from the name on."""


_MOSTLY = {
    PanelWord.DO_NOT: "rewrite what is meant, or make a new reference, and train on it once more",
    PanelWord.SAFE: "keep it as it is",
    PanelWord.ONE_MIND: ONE_MIND_ACTION,
    PanelWord.ALIKE: "ask whether this note earns its place on the sheet",
    PanelWord.ORDER: "serve each tray in an order of its own next time",
}
"""What most sessions say of a note, and what to do."""


def span_descriptor_verdict(
    descriptor: str,
    verdicts: Mapping[PanelWord, int],
    moving: AssessorVerdict | None,
    settings: AgreementSettings,
) -> NoteVerdict:
    """Sum up a descriptor over several sessions."""
    judged = sum(n for word, n in verdicts.items() if word is not PanelWord.TOO_LITTLE)
    total = sum(verdicts.values())
    parts = [f"{word!s} in {n}" for word in PanelWord if (n := verdicts.get(word, 0))]
    said = f"{capital(descriptor)} over {count(total, 'session')}: {', '.join(parts)}"
    if moving is not None:
        return _moves(said, moving)
    if judged == 0:
        action = "pour six samples and two blind duplicates a session"
        return Verdict(PanelWord.TOO_LITTLE, said, action)
    for word, action in _MOSTLY.items():
        if 2 * verdicts.get(word, 0) > judged:
            fault = word is PanelWord.ALIKE and descriptor in settings.ought_to_be_absent
            return Verdict(word, said, IS_ABSENT if fault else action)
    if not verdicts.get(PanelWord.SAFE, 0) + verdicts.get(PanelWord.SECOND_LOOK, 0):
        return Verdict(PanelWord.CANNOT_TELL, said, "let the next sessions decide")
    return Verdict(PanelWord.SECOND_LOOK, said, "nose its reference before each session")


def with_moving(said: Verdict[PanelWord], moving: AssessorVerdict | None) -> NoteVerdict:
    """What is said of a note, and that the panel moves on its reference, which goes first."""
    return said if moving is None else _moves(said.said, moving)


def _moves(said: str, moving: AssessorVerdict) -> AssessorVerdict:
    """The verdict on a movement, behind what is said of the note."""
    return replace(moving, said=f"{said}; {moving.said[:1].lower()}{moving.said[1:]}")


def span_sentence(
    n_sessions: int,
    dates: tuple[str, str],
    words: Mapping[PanelWord, int],
    moving: Sequence[str],
) -> Verdict[PanelWord]:
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
        return Verdict(PanelWord.SECOND_LOOK, said, "nose the reference together before the next")
    return _span_verdict(words, said)


def _span_verdict(words: Mapping[PanelWord, int], said: str) -> Verdict[PanelWord]:
    judged = sum(words.values())
    if 2 * words.get(PanelWord.TOO_LITTLE, 0) >= max(judged, 1):
        action = "pour six samples and two blind duplicates a session"
        return Verdict(PanelWord.TOO_LITTLE, said, action)
    if 2 * words.get(PanelWord.ORDER, 0) >= judged:
        return Verdict(PanelWord.ORDER, said, "serve each tray in an order of its own next time")
    if 2 * words.get(PanelWord.DO_NOT, 0) >= judged:
        return Verdict(PanelWord.DO_NOT, said, "train on the references before the next session")
    for word, action in (
        (PanelWord.ONE_MIND, ONE_MIND_ACTION),
        (PanelWord.SAFE, "nothing to change"),
    ):
        if 2 * words.get(word, 0) > judged:
            return Verdict(word, said, action)
    if not words.get(PanelWord.SAFE, 0) + words.get(PanelWord.SECOND_LOOK, 0):
        return Verdict(PanelWord.CANNOT_TELL, said, "let the next sessions decide")
    return Verdict(PanelWord.SECOND_LOOK, said, "go through the notes below that are not safe")
