"""From the figures of all descriptors to what is said of each assessor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np

from analysis.agreement.indices.repeat import Repeat
from analysis.agreement.one_session.assessors import (
    PanelSlope,
    reading,
    reading_word,
    usual_repeat_sd,
)
from analysis.agreement.one_session.notes import COINCIDENCE, Note
from analysis.agreement.one_session.result import (
    AssessorAgreement,
    AssessorNote,
    PrivateFact,
    Unjudged,
    WhyNot,
)
from analysis.agreement.one_session.swaps import find_swap
from analysis.agreement.sessions.over_sessions import NoteOverSessions, PersonOverSessions
from analysis.agreement.settings import AgreementSettings
from analysis.agreement.verdict import (
    AssessorWord,
    NoteFacts,
    assessor_verdict,
    private_sentence,
    swap_verdict,
)
from analysis.agreement.verdict.over_sessions import TwoWords, two_stories

Lately = Mapping[str, NoteOverSessions]
_NOTHING: Lately = MappingProxyType({})
_LEAST_FOR_PRIVATE = 3
"""Sessions that must agree before anything near a person's health is said, even in private."""
_LEAST_SESSIONS = 2
"""Of somebody who is here for the first time there is only this session to say."""
_OF_THESE_GLASSES = (AssessorWord.REVERSED, AssessorWord.FLAT)
"""Words that are said of an evening's glasses, whatever somebody does otherwise."""


def describe_assessor(
    name: str,
    notes: Sequence[Note],
    settings: AgreementSettings,
    lately: Lately = _NOTHING,
    *,
    look_for_swaps: bool = True,
) -> AssessorAgreement:
    """Sum up one assessor over all descriptors of a session; `lately` is of the last few."""
    found = [_assessor_note(name, note, settings, lately.get(note.name)) for note in notes]
    facts = [
        _note_facts(note, part, settings, _by_model(name, note, lately.get(note.name), settings))
        for note, part in zip(notes, found, strict=True)
    ]
    correlation = _correlation(found)
    shares = [part.signal_share for part in found if part.signal_share is not None]
    share = float(np.mean(shares)) if shares else None
    n_missing = sum(part.n_missing for part in found)
    told_apart = [note.swap_note for note in notes if note.judges(settings) is None]
    sure = settings.flag_probability
    swap = find_swap(name, told_apart, sure) if look_for_swaps else None
    said = assessor_verdict(name, facts, correlation, n_missing, share)
    if swap and swap.probability >= sure:
        said = swap_verdict(name, swap)
    n_scores = sum(part.n_scores for part in found)
    return AssessorAgreement(
        assessor=name,
        verdict=said,
        n_scores=n_scores,
        n_missing=n_missing,
        missing_rate=n_missing / max(n_scores + n_missing, 1),
        correlation=correlation,
        swap=swap,
        notes=tuple(found),
        signal_share=share,
        over_sessions_sentence=two_stories(
            name, [_two_words(name, part, lately.get(part.descriptor), settings) for part in found]
        ),
    )


def wrong_way_round(
    notes: Sequence[Note], settings: AgreementSettings
) -> frozenset[tuple[str, str]]:
    """Assessor and descriptor wherever this session's glasses are the wrong way round."""
    return frozenset(
        (name, note.name)
        for note in notes
        for name, slope in note.slopes.items()
        if _word(slope, note, Repeat(), settings)[0] is AssessorWord.REVERSED
    )


def _correlation(found: Sequence[AssessorNote]) -> float | None:
    """With the others, over the notes somebody can be judged by, or over all without any."""
    judged = [part.correlation for part in found if part.verdict and part.correlation is not None]
    every = [part.correlation for part in found if part.correlation is not None]
    values = judged or every
    return float(np.mean(values)) if values else None


def _by_model(
    name: str, note: Note, over: NoteOverSessions | None, settings: AgreementSettings
) -> PersonOverSessions | None:
    """Who somebody is by the last few sessions, where this one and they can judge at all."""
    if over is None or note.judges(settings) or over.not_judging(settings):
        return None
    person = over.people.get(name)
    return None if person is None or person.n_sessions < _LEAST_SESSIONS else person


def _assessor_note(
    name: str, note: Note, settings: AgreementSettings, over: NoteOverSessions | None
) -> AssessorNote:
    layout = note.figures.layout
    slope = note.slopes.get(name)
    repeat = note.repeat.assessors.get(name, Repeat())
    evening, reason = _word(slope, note, repeat, settings)
    person = _by_model(name, note, over, settings)
    word, reason = _together(evening, reason, person, settings)
    row = layout.assessors.index(name) if name in layout.assessors else None
    own = None if row is None else layout.means[row][~np.isnan(layout.means[row])]
    known = slope if isinstance(slope, PanelSlope) else None
    offset = None
    if row is not None and not layout.constant:
        left = layout.means - layout.adjusted
        offset = float(np.nanmean(left[row]))
    told = person is not None and person.word(settings) is not None
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
        verdict=word,
        reason=reason,
        evening_verdict=evening,
        signal_share=person.signal_share if person and told else None,
        n_sessions=person.n_sessions if person else 1,
    )


def _word(
    slope: PanelSlope | str | None, note: Note, repeat: Repeat, settings: AgreementSettings
) -> tuple[AssessorWord | None, Unjudged | None]:
    """The word of the session by itself, or why there is none."""
    if not isinstance(slope, PanelSlope):
        said = slope or note.figures.effect.reason or str(WhyNot.NOT_SCORED)
        return None, Unjudged(WhyNot.NOT_SCORED, said)
    reason = note.judges(settings)
    if reason:
        return None, Unjudged(WhyNot.NOBODY, reason)
    usual = usual_repeat_sd(list(note.repeat.assessors.values()))
    word = reading_word(slope, reading([slope]), repeat, usual, settings)
    return word, None if word else _too_close("from one session")


def _too_close(by: str) -> Unjudged:
    return Unjudged(WhyNot.TOO_CLOSE, f"{WhyNot.TOO_CLOSE} {by}")


def _together(
    evening: AssessorWord | None,
    reason: Unjudged | None,
    person: PersonOverSessions | None,
    settings: AgreementSettings,
) -> tuple[AssessorWord | None, Unjudged | None]:
    """The word by the last few sessions, unless it is these glasses that are spoken of."""
    if person is None or evening in _OF_THESE_GLASSES:
        return evening, reason
    word = person.word(settings)
    return word, None if word else _too_close(f"over {person.n_sessions} sessions")


def _two_words(
    name: str, found: AssessorNote, over: NoteOverSessions | None, settings: AgreementSettings
) -> TwoWords:
    person = None if found.signal_share is None or over is None else over.people.get(name)
    return TwoWords(
        descriptor=found.descriptor,
        evening=found.evening_verdict,
        lately=None if person is None else person.word(settings),
        n_sessions=found.n_sessions,
        signal_share=found.signal_share,
    )


def _note_facts(
    note: Note, found: AssessorNote, settings: AgreementSettings, person: PersonOverSessions | None
) -> NoteFacts:
    scale, repeat, usual = note.per_point, found.repeat_sd, _usual(note)
    width = found.slope
    repeat_points = None if repeat is None else float(COINCIDENCE * repeat * scale)
    usual_points = None if usual is None else float(COINCIDENCE * usual * scale)
    if person is not None and found.verdict is not None:
        width = person.scale
        repeat_points = float(COINCIDENCE * person.noise)
        usual_points = float(COINCIDENCE * person.usual_noise)
    others = None
    if found.span is not None and width:
        others = abs(found.span / width) * scale
    return NoteFacts(
        descriptor=note.name,
        word=found.verdict,
        span=None if found.span is None else found.span * scale,
        told_apart=note.judges(settings) is None,
        others_span=others,
        repeat_points=repeat_points,
        usual_repeat_points=usual_points,
        hidden=note.n_hidden > 0,
    )


def _usual(note: Note) -> float | None:
    return usual_repeat_sd(list(note.repeat.assessors.values()))


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def private_facts(
    notes: Sequence[Note], settings: AgreementSettings, lately: Lately
) -> tuple[PrivateFact, ...]:
    """Notes that an assessor seems not to smell, over three sessions or more."""
    facts: list[PrivateFact] = []
    for note in notes:
        over = lately.get(note.name)
        if over is not None and over.leads:
            facts += flat_over_sessions(over, settings)
        else:
            facts += _flat_by_slopes(note, settings)
    return tuple(facts)


def flat_over_sessions(over: NoteOverSessions, settings: AgreementSettings) -> list[PrivateFact]:
    """Who seems not to smell a note, by the one model; for that person and the lead only."""
    if over.not_judging(settings):
        return []
    return [
        private_fact(person.assessor, over.descriptor, person.p_flat, person.n_sessions)
        for _, person in sorted(over.people.items())
        if person.n_sessions >= _LEAST_FOR_PRIVATE and person.p_flat > settings.flag_probability
    ]


def flat_by_slopes(
    name: str, descriptor: str, slopes: Sequence[PanelSlope], settings: AgreementSettings
) -> list[PrivateFact]:
    """The same from the slopes of single sessions, where the one model says nothing."""
    if len(slopes) < _LEAST_FOR_PRIVATE:
        return []
    chance = reading(slopes).flat
    if chance <= settings.flag_probability:
        return []
    return [private_fact(name, descriptor, chance, len(slopes))]


def private_fact(name: str, descriptor: str, chance: float, n_sessions: int) -> PrivateFact:
    """Put a fact and its sentence together."""
    said, action = private_sentence(name, descriptor, n_sessions)
    return PrivateFact(name, descriptor, chance, n_sessions, said, action)


def _flat_by_slopes(note: Note, settings: AgreementSettings) -> list[PrivateFact]:
    facts: list[PrivateFact] = []
    now = {} if note.judges(settings) else note.slopes
    for name in sorted(set(now) | set(note.past_slopes)):
        found = [*note.past_slopes.get(name, ())]
        current = now.get(name)
        if isinstance(current, PanelSlope):
            found.append(current)
        facts += flat_by_slopes(name, note.name, found, settings)
    return facts
