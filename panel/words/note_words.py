"""One assessor on one descriptor in words, verdict first; distances on the 0-100 line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.figures import in_digits

if TYPE_CHECKING:
    from analysis.agreement import AssessorNote, DescriptorAgreement


def note_sentence(assessor: str, note: AssessorNote, panel: DescriptorAgreement) -> str:
    """Return what there is to say of an assessor on a descriptor, the verdict before figures."""
    why = f"not judged, {note.reason.said}" if note.reason else "nothing scored"
    parts = list(_figures(note, 100.0 / (panel.scale_high - panel.scale_low)))
    figures = f" {_capital('; '.join(parts))}." if parts else ""
    return f"{assessor} on {note.descriptor}: {note.verdict or why}.{figures}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _figures(note: AssessorNote, per_point: float) -> Iterator[str]:
    from analysis.agreement.one_session.notes import COINCIDENCE
    from analysis.agreement.verdict.words import points

    if note.span is not None:
        yield f"{points(note.span * per_point)} from lowest to highest"
    if note.offset is not None and abs(note.offset * per_point) >= 0.5:
        side = "above" if note.offset > 0 else "below"
        yield f"{points(abs(note.offset) * per_point)} {side} the panel on the whole"
    if note.repeat_sd is not None:
        yield f"repeats within {points(COINCIDENCE * note.repeat_sd * per_point)}"
    if note.correlation is not None:
        yield f"order like the others' {in_digits(note.correlation, '.2f')}"
    if note.signal_share is not None:
        yield f"signal share {in_digits(note.signal_share, '.2f')} over {note.n_sessions} sessions"
    if note.n_missing:
        yield f"{note.n_missing} left blank"
