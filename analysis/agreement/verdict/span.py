"""Sentences on several sessions together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from ...counted import count
from ..settings import AgreementSettings
from .over_sessions import in_two_camps
from .span_person import AssessorVerdict
from .words import (
    CAMPS_ACTION,
    IS_ABSENT,
    ONE_MIND_ACTION,
    AssessorWord,
    PanelWord,
    Verdict,
    capital,
    listed,
)

NoteVerdict = Verdict[PanelWord | AssessorWord]
"""Of a note over several sessions: what the panel's scores are good for, or that it moves."""


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
    if not total:
        said = f"{capital(descriptor)} could be judged in none of the sessions"
    if moving is not None:
        return _moves(said, moving)
    if in_two_camps(verdicts):
        return Verdict(PanelWord.CAMPS, said, CAMPS_ACTION)
    if judged == 0:
        action = "pour six samples and two blind duplicates a session" if total else _SEE_WHY
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
    asking: Sequence[str] = (),
    reasons: Sequence[str] = (),
) -> Verdict[PanelWord]:
    """Sum up a span in one line.

    `moving` names who moves, the panel included; `asking` notes and people of whom something is
    asked below, so that nobody stops reading at a line that says there is nothing to do. `reasons`
    are why sessions could not be judged, with what to do, a sentence each.
    """
    parts = [f"{n} {word!s}" for word in PanelWord if (n := words.get(word, 0))]
    said = (
        f"{count(n_sessions, 'session')} from {dates[0]} to {dates[1]}: "
        f"{', '.join(parts) if parts else 'none could be judged'}"
    )
    if moving:
        said += f"; moving: {listed(list(moving[:4]))}"
        more = len(moving) - 4
        said += f" and {count(more, 'other')}" if more > 0 else ""
        return Verdict(PanelWord.SECOND_LOOK, said, "nose the reference together before the next")
    if not words:
        return Verdict(PanelWord.TOO_LITTLE, said, _why_none(reasons))
    found = _span_verdict(words, said)
    if found.word is PanelWord.SAFE and asking:
        more = len(asking) - _NAMED
        names = [*asking[:_NAMED], *([f"{more} more"] if more > 0 else [])]
        action = f"go through what is said below of {listed(names)}"
        return Verdict(PanelWord.SAFE, said, action)
    return found


_NAMED = 4
_SEE_WHY = "see at each session why it could not be judged"


def _why_none(reasons: Sequence[str]) -> str:
    """Why no session could be judged: the one reason there is, else where each stands."""
    return reasons[0].rstrip(".") if len(set(reasons)) == 1 else _SEE_WHY


def _span_verdict(words: Mapping[PanelWord, int], said: str) -> Verdict[PanelWord]:
    judged = sum(words.values())
    if 2 * words.get(PanelWord.TOO_LITTLE, 0) >= judged:
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
