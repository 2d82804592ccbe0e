"""From the figures of all descriptors to what is said of each assessor."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from ..indices.repeat import Repeat
from ..sessions.over_sessions import NoteOverSessions, PersonOverSessions
from ..settings import AgreementSettings
from ..verdict import (
    AssessorWord,
    PersonFacts,
    assessor_verdict,
    swap_verdict,
)
from ..verdict.over_sessions import TwoWords, two_stories
from .assessors import (
    PanelSlope,
    reading,
    reading_word,
)
from .exchanges import find_exchanges
from .note_facts import note_facts, usual_of
from .notes import Note
from .result import (
    AssessorAgreement,
    AssessorNote,
    Unjudged,
    WhyNot,
)
from .small_panel import Twice
from .standing import Standing, Stood, astray, repeats_by_session
from .swaps import Swap
from .with_panel import Told, WithPanel

Lately = Mapping[str, NoteOverSessions]
_NOTHING: Lately = MappingProxyType({})
_LEAST_SESSIONS = 2
"""Of somebody who is here for the first time there is only this session to say."""
_OF_THESE_GLASSES = (AssessorWord.REVERSED, AssessorWord.FLAT)
"""Words that are said of an evening's glasses, whatever somebody does otherwise."""


def describe_people(
    names: Sequence[str],
    notes: Sequence[Note],
    settings: AgreementSettings,
    lately: Lately = _NOTHING,
    *,
    look_for_swaps: bool = True,
) -> tuple[AssessorAgreement, ...]:
    """Sum up each assessor over all descriptors of a session; `lately` is of the last few."""
    repeats = repeats_by_session([note.visits for note in notes])
    told = {name: [note.own_told(name) for note in notes] for name in _everybody(notes)}
    without = astray(told, settings)
    nobody: list[list[Told | None]] = [note.own_told("") for note in notes]
    swaps: Mapping[str, Swap] = {}
    if look_for_swaps:
        swaps = find_exchanges([note.on_trays(settings) for note in notes], settings)
    return tuple(
        _describe(
            name,
            notes,
            Stood.of(name, told.get(name, nobody), repeats, settings, without),
            swaps.get(name),
            settings,
            lately,
            without,
        )
        for name in names
    )


def _everybody(notes: Sequence[Note]) -> list[str]:
    """Who was there in this session or the last few."""
    each = (part for note in notes for part in (note.told, *note.past_told))
    return sorted({name for part in each for name in part})


def _describe(
    name: str,
    notes: Sequence[Note],
    stood: Stood,
    swap: Swap | None,
    settings: AgreementSettings,
    lately: Lately,
    without: Collection[str],
) -> AssessorAgreement:
    found = [_assessor_note(name, note, stood, settings, lately.get(note.name)) for note in notes]
    facts = [
        note_facts(
            name, note, part, _by_model(name, note, lately.get(note.name), settings), without
        )
        for note, part in zip(notes, found, strict=True)
    ]
    correlation = _correlation(found, stood.tonight.reading)
    shares = [part.signal_share for part in found if part.signal_share is not None]
    share = float(np.mean(shares)) if shares else None
    n_missing = sum(part.n_missing for part in found)
    said = assessor_verdict(
        name,
        facts,
        _person_facts(stood, correlation, n_missing, share, notes, Twice.of(name, notes)),
    )
    if swap and swap.probability >= settings.flag_probability:
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
        reading=stood.lately.reading,
        habits=stood.lately.habits,
        over_sessions_sentence=two_stories(
            name, [_two_words(name, part, lately.get(part.descriptor), settings) for part in found]
        ),
    )


def _person_facts(
    stood: Stood,
    correlation: float | None,
    n_missing: int,
    share: float | None,
    notes: Sequence[Note],
    twice: Twice,
) -> PersonFacts:
    reading, habits = stood.lately.reading, stood.lately.habits
    return PersonFacts(
        passed=reading.passed,
        habit=habits.word if reading.passed or habits.less_steady else None,
        scale=habits.scale,
        unsteady=habits.unsteady,
        correlation=correlation,
        n_told=stood.tonight.reading.n_notes,
        more=reading.more,
        short=reading.short,
        signal_share=share,
        n_missing=n_missing,
        repeats_within=twice.within,
        hidden=twice.hidden,
        camps=tuple(note.name for note in notes if note.camps is not None),
    )


def wrong_way_round(
    notes: Sequence[Note], settings: AgreementSettings
) -> frozenset[tuple[str, str]]:
    """Assessor and descriptor wherever this session's glasses are the wrong way round."""
    return frozenset(
        (name, note.name)
        for note in notes
        for name, slope in note.slopes.items()
        if _word(slope, name, note, Standing(), settings)[0] is AssessorWord.REVERSED
    )


def _correlation(found: Sequence[AssessorNote], reading: WithPanel) -> float | None:
    """With the others, over the notes they told apart, or over all where there is none."""
    if reading.correlation is not None:
        return reading.correlation
    every = [part.correlation for part in found if part.correlation is not None]
    return float(np.mean(every)) if every else None


def _by_model(
    name: str, note: Note, over: NoteOverSessions | None, settings: AgreementSettings
) -> PersonOverSessions | None:
    """Who somebody is by the last few sessions, where this one and they can judge at all."""
    if over is None or note.not_judging(name) or over.not_judging(settings):
        return None
    person = over.people.get(name)
    return None if person is None or person.n_sessions < _LEAST_SESSIONS else person


def _assessor_note(
    name: str,
    note: Note,
    stood: Stood,
    settings: AgreementSettings,
    over: NoteOverSessions | None,
) -> AssessorNote:
    layout = note.figures.layout
    slope = note.slopes.get(name)
    repeat = note.repeat.assessors.get(name, Repeat())
    evening, reason = _word(slope, name, note, stood.tonight, settings)
    person = _by_model(name, note, over, settings)
    word, reason = _together(evening, reason, person, stood.lately, settings)
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
    slope: PanelSlope | str | None,
    name: str,
    note: Note,
    standing: Standing,
    settings: AgreementSettings,
) -> tuple[AssessorWord | None, Unjudged | None]:
    """The word of the session by itself, or why there is none."""
    if not isinstance(slope, PanelSlope):
        said = slope or note.figures.effect.reason or str(WhyNot.NOT_SCORED)
        return None, Unjudged(WhyNot.NOT_SCORED, said)
    reason = note.not_judging(name)
    if reason:
        return None, Unjudged(WhyNot.NOBODY, reason)
    own, usual = note.repeat.assessors.get(name, Repeat()).sd, usual_of(note)
    less_steady = bool(own and usual and own > settings.habit_multiple * usual)
    word = reading_word(slope, reading([slope]), standing, less_steady, settings)
    return word, None if word else _too_close("from one session")


def _too_close(by: str) -> Unjudged:
    return Unjudged(WhyNot.TOO_CLOSE, f"{WhyNot.TOO_CLOSE} {by}")


def _together(
    evening: AssessorWord | None,
    reason: Unjudged | None,
    person: PersonOverSessions | None,
    standing: Standing,
    settings: AgreementSettings,
) -> tuple[AssessorWord | None, Unjudged | None]:
    """The word by the last few sessions, unless it is these glasses that are spoken of."""
    if person is None or evening in _OF_THESE_GLASSES:
        return evening, reason
    word = standing.allowed(person.word(settings), person.scale)
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


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None
