"""What would be said if two glasses had changed places: both verdicts, side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..verdict import AssessorWord, PanelWord, SwapFacts, swap_check_sentence
from .swaps import Swap


@dataclass(frozen=True)
class ChangedNote:
    """A descriptor whose verdict hangs on the two glasses."""

    descriptor: str
    as_scored: PanelWord
    exchanged: PanelWord


@dataclass(frozen=True)
class SwapCheck:
    """Two glasses that may have changed places, and every verdict with and without.

    Nothing is repaired: all other figures of the session are those of the scores as given.

    Attributes
    ----------
    swap
        Which glasses, and the odds.
    verdict_as_scored, verdict_exchanged
        Of the session.
    assessor_as_scored, assessor_exchanged
        Of the assessor, leaving the swap itself unsaid.
    correlation_as_scored, correlation_exchanged
        Of the assessor with the others.
    changed
        Descriptors whose verdict would be another.
    """

    assessor: str
    swap: Swap
    verdict_as_scored: PanelWord
    verdict_exchanged: PanelWord
    assessor_as_scored: AssessorWord
    assessor_exchanged: AssessorWord
    correlation_as_scored: float | None
    correlation_exchanged: float | None
    changed: tuple[ChangedNote, ...]
    sentence: str
    next_action: str


@dataclass(frozen=True)
class Side:
    """One of the two ways to read a session: its word, each note's, and one assessor's."""

    assessor: str
    line: PanelWord
    notes: Mapping[str, PanelWord]
    word: AssessorWord
    correlation: float | None


def compare(swap: Swap, as_scored: Side, exchanged: Side) -> SwapCheck:
    """Set the verdicts as scored beside those with the two glasses exchanged."""
    changed = tuple(
        ChangedNote(name, word, exchanged.notes[name])
        for name, word in as_scored.notes.items()
        if word is not exchanged.notes[name]
    )
    facts = SwapFacts(
        assessor=as_scored.assessor,
        swap=swap,
        correlation_as_scored=as_scored.correlation,
        correlation_exchanged=exchanged.correlation,
        word_exchanged=exchanged.word,
        changed=tuple((part.descriptor, part.as_scored, part.exchanged) for part in changed),
    )
    said = swap_check_sentence(facts)
    return SwapCheck(
        assessor=as_scored.assessor,
        swap=swap,
        verdict_as_scored=as_scored.line,
        verdict_exchanged=exchanged.line,
        assessor_as_scored=as_scored.word,
        assessor_exchanged=exchanged.word,
        correlation_as_scored=as_scored.correlation,
        correlation_exchanged=exchanged.correlation,
        changed=changed,
        sentence=said.sentence,
        next_action=said.next_action,
    )
