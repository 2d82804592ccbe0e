"""What would be said if two glasses had changed places: both verdicts, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.agreement.one_session.swaps import Swap
from analysis.agreement.verdict import SwapFacts, Verdict, swap_check_sentence

if TYPE_CHECKING:
    from analysis.agreement.one_session.result import AssessorAgreement, DescriptorAgreement


@dataclass(frozen=True)
class ChangedNote:
    """A descriptor whose verdict hangs on the two glasses."""

    descriptor: str
    as_scored: str
    exchanged: str


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
    verdict_as_scored: str
    verdict_exchanged: str
    assessor_as_scored: str
    assessor_exchanged: str
    correlation_as_scored: float | None
    correlation_exchanged: float | None
    changed: tuple[ChangedNote, ...]
    sentence: str
    next_action: str


@dataclass(frozen=True)
class Side:
    """One of the two ways to read a session."""

    line: Verdict
    descriptors: Sequence[DescriptorAgreement]
    assessor: AssessorAgreement


def compare(swap: Swap, as_scored: Side, exchanged: Side) -> SwapCheck:
    """Set the verdicts as scored beside those with the two glasses exchanged."""
    changed = tuple(
        ChangedNote(one.descriptor, one.verdict, other.verdict)
        for one, other in zip(as_scored.descriptors, exchanged.descriptors, strict=True)
        if one.verdict != other.verdict
    )
    own, back = as_scored.assessor, exchanged.assessor
    facts = SwapFacts(
        assessor=own.assessor,
        swap=swap,
        correlation_as_scored=own.correlation,
        correlation_exchanged=back.correlation,
        word_exchanged=back.verdict,
        changed=tuple((part.descriptor, part.as_scored, part.exchanged) for part in changed),
    )
    said = swap_check_sentence(facts)
    return SwapCheck(
        assessor=own.assessor,
        swap=swap,
        verdict_as_scored=as_scored.line.word,
        verdict_exchanged=exchanged.line.word,
        assessor_as_scored=own.verdict,
        assessor_exchanged=back.verdict,
        correlation_as_scored=own.correlation,
        correlation_exchanged=back.correlation,
        changed=changed,
        sentence=said.sentence,
        next_action=said.next_action,
    )
