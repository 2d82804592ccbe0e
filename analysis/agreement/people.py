"""From the figures of all descriptors to what is said of each assessor."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.agreement.assessors import Slope, reading, reading_word, usual_repeat_sd
from analysis.agreement.notes import COINCIDENCE, Note
from analysis.agreement.repeat import Repeat
from analysis.agreement.result import AssessorAgreement, AssessorNote, PrivateFact
from analysis.agreement.settings import AgreementSettings
from analysis.agreement.swaps import find_swap
from analysis.agreement.verdict import (
    AssessorWord,
    NoteFacts,
    assessor_verdict,
    private_sentence,
    swap_verdict,
)


def describe_assessor(
    name: str,
    notes: Sequence[Note],
    settings: AgreementSettings,
    *,
    look_for_swaps: bool = True,
) -> AssessorAgreement:
    """Sum up one assessor over all descriptors of a session."""
    found = [_assessor_note(name, note, settings) for note in notes]
    facts = [_note_facts(note, part, settings) for note, part in zip(notes, found, strict=True)]
    judged = [part.correlation for part in found if part.verdict and part.correlation is not None]
    every = [part.correlation for part in found if part.correlation is not None]
    values = judged or every
    correlation = float(np.mean(values)) if values else None
    n_missing = sum(part.n_missing for part in found)
    told_apart = [note.swap_note for note in notes if note.judges(settings) is None]
    sure = settings.flag_probability
    swap = find_swap(name, told_apart, sure) if look_for_swaps else None
    said = assessor_verdict(name, facts, correlation, n_missing)
    if swap and swap.probability >= sure:
        said = swap_verdict(name, swap)
    n_scores = sum(part.n_scores for part in found)
    return AssessorAgreement(
        assessor=name,
        verdict=said.word,
        sentence=said.sentence,
        next_action=said.next_action,
        n_scores=n_scores,
        n_missing=n_missing,
        missing_rate=n_missing / max(n_scores + n_missing, 1),
        correlation=correlation,
        swap=swap,
        notes=tuple(found),
    )


def _assessor_note(name: str, note: Note, settings: AgreementSettings) -> AssessorNote:
    layout = note.figures.layout
    slope = note.slopes.get(name)
    repeat = note.repeat.assessors.get(name, Repeat())
    word, reason = _word(slope, note, repeat, settings)
    row = layout.assessors.index(name) if name in layout.assessors else None
    own = None if row is None else layout.means[row][~np.isnan(layout.means[row])]
    known = slope if isinstance(slope, Slope) else None
    offset = None
    if row is not None and not layout.constant:
        left = layout.means - layout.adjusted
        offset = float(np.nanmean(left[row]))
    return AssessorNote(
        descriptor=note.name,
        n_scores=int(layout.counts[row].sum()) if row is not None else 0,
        n_missing=note.n_missing.get(name, 0),
        offset=offset,
        correlation=_finite(known.correlation) if known else None,
        slope=known.slope if known else None,
        slope_se=known.se if known else None,
        repeat_sd=repeat.sd,
        span=float(np.ptp(own)) if own is not None and len(own) > 1 else None,
        disagreement_f=note.figures.scaling.disagreement_by_assessor.get(name),
        verdict=None if word is None else str(word),
        reason=reason,
    )


def _word(
    slope: Slope | str | None, note: Note, repeat: Repeat, settings: AgreementSettings
) -> tuple[AssessorWord | None, str | None]:
    if not isinstance(slope, Slope):
        return None, slope or note.figures.effect.reason or "not scored"
    reason = note.judges(settings)
    if reason:
        return None, reason
    usual = usual_repeat_sd(list(note.repeat.assessors.values()))
    word = reading_word(slope, reading([slope]), repeat, usual, settings)
    return word, None if word else "too close to call from one session"


def _note_facts(note: Note, found: AssessorNote, settings: AgreementSettings) -> NoteFacts:
    usual = usual_repeat_sd(list(note.repeat.assessors.values()))
    scale = note.per_point
    others = None
    if found.span is not None and found.slope:
        others = abs(found.span / found.slope) * scale
    return NoteFacts(
        descriptor=note.name,
        word=None if found.verdict is None else AssessorWord(found.verdict),
        span=None if found.span is None else found.span * scale,
        told_apart=note.judges(settings) is None,
        others_span=others,
        repeat_points=None
        if found.repeat_sd is None
        else float(COINCIDENCE * found.repeat_sd * scale),
        usual_repeat_points=None if usual is None else float(COINCIDENCE * usual * scale),
    )


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def private_facts(notes: Sequence[Note], settings: AgreementSettings) -> tuple[PrivateFact, ...]:
    """Notes that an assessor seems not to smell, over three sessions or more."""
    facts = []
    for note in notes:
        now = {} if note.judges(settings) else note.slopes
        for name in sorted(set(now) | set(note.past_slopes)):
            current = now.get(name)
            found = [*note.past_slopes.get(name, ())]
            if isinstance(current, Slope):
                found.append(current)
            if len(found) < 3:
                continue
            chance = reading(found).flat
            if chance > settings.flag_probability:
                said, action = private_sentence(name, note.name, len(found))
                facts.append(PrivateFact(name, note.name, chance, len(found), said, action))
    return tuple(facts)
