"""The signs of the agreement field: one cell is one person on one note."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.agreement import (
        AssessorAgreement,
        AssessorNote,
        AssessorWord,
        DescriptorAgreement,
        PanelWord,
        SpanNote,
    )

UNSURE, NOT_JUDGED, BLANK = " ?", " ·", " -"
UPWARD, DOWNWARD = "/^", "\\v"
TO_TALK_ABOUT = frozenset({"~~", "XX", "__", "/^", "\\v", "<-", "NOT"})
"""Signs that ask for a word with somebody; they stand out in weight as well."""

KEY = (
    " =  with the panel   <> wider line   >< narrower line   ~~ less steady - blank",
    "XX  opposite way     __ did not separate    ? unsure     · nobody to be judged",
)
SPAN_KEY = (
    KEY[0],
    "XX  opposite way  __ not separated  /^ \\v moving up, down  ? unsure  · none",
)


@cache
def _signs() -> dict[AssessorWord, str]:
    from analysis.agreement import AssessorWord

    return {
        AssessorWord.WITH: " =",
        AssessorWord.WIDER: "<>",
        AssessorWord.NARROWER: "><",
        AssessorWord.UNSTEADY: "~~",
        AssessorWord.REVERSED: "XX",
        AssessorWord.FLAT: "__",
        AssessorWord.MOVING_UP: UPWARD,
        AssessorWord.MOVING_DOWN: DOWNWARD,
        AssessorWord.APART: "<-",
        AssessorWord.CANNOT_TELL: UNSURE,
        AssessorWord.TOO_LITTLE: NOT_JUDGED,
    }


@cache
def _panel_words() -> dict[PanelWord | AssessorWord, str]:
    from analysis.agreement import AssessorWord, PanelWord

    return {
        PanelWord.SAFE: "safe",
        PanelWord.SECOND_LOOK: "look",
        PanelWord.DO_NOT: "NOT",
        PanelWord.ALIKE: "alike",
        PanelWord.ONE_MIND: "same",
        PanelWord.CANNOT_TELL: "?",
        PanelWord.ORDER: "order",
        PanelWord.CAMPS: "camps",
        PanelWord.TOO_LITTLE: "more",
        AssessorWord.MOVING_UP: UPWARD,
        AssessorWord.MOVING_DOWN: DOWNWARD,
    }


def sign_of_note(note: AssessorNote | None) -> str:
    """Return the sign of one person on one descriptor."""
    if note is None or not note.n_scores:
        return BLANK
    from analysis.agreement import WhyNot

    if note.verdict is not None:
        return sign_of_person(note.verdict)
    close = note.reason is not None and note.reason.why is WhyNot.TOO_CLOSE
    return UNSURE if close else NOT_JUDGED


def sign_of_span_note(note: SpanNote | None) -> str:
    """Return the sign of one person on one descriptor over several sessions."""
    if note is None or not note.n_scores:
        return BLANK
    if note.drift is not None and note.drift.verdict is not None:
        return sign_of_person(note.drift.verdict.word)
    if note.verdict is not None:
        return sign_of_person(note.verdict)
    return UNSURE if note.n_sessions else NOT_JUDGED


def sign_of_person(word: AssessorWord) -> str:
    """Return the sign of a verdict on a person."""
    return _signs().get(word, UNSURE)


def sign_of_panel(word: PanelWord | AssessorWord) -> str:
    """Return one short word for the verdict on a descriptor, or on a session."""
    return _panel_words().get(word, "more")


def with_sessions(part: DescriptorAgreement | AssessorAgreement) -> str:
    """Return the sentence, and what the sessions to date say beside it."""
    return " ".join(filter(None, (part.verdict.sentence, part.over_sessions_sentence)))
