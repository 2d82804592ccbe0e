"""One note of a session as the row of a frame."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .result import DescriptorAgreement


def note_row(note: DescriptorAgreement) -> dict[str, Any]:
    """Return its word, what to do, and the figures behind it."""
    return {
        "descriptor": note.descriptor,
        "verdict": note.verdict.label,
        "next_action": note.verdict.next_action,
        "n_scores": note.n_scores,
        "n_missing": note.n_missing,
        "f": note.sample_effect.f,
        "p": note.sample_effect.p,
        "reliability": note.reliability,
        "reliability_low": note.reliability_low,
        "seen_difference": note.seen_difference,
    }
