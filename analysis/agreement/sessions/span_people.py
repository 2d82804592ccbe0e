"""From the scores of several sessions to what is said of descriptors and people over them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence

import numpy as np
import pandas as pd

from ...frames import TEST_KINDS
from ..indices.repeat import Repeat
from ..one_session.assessors import usual_repeat_sd
from ..one_session.notes import COINCIDENCE
from ..one_session.private import flat_by_slopes, flat_over_sessions
from ..one_session.result import Agreement, PrivateFact
from ..one_session.standing import (
    Standing,
    astray,
    repeats_by_session,
    standing_of,
)
from ..settings import AgreementSettings
from ..verdict import AssessorWord, PanelWord, Verdict
from ..verdict.over_sessions import over_sessions_verdict
from ..verdict.span import NoteVerdict, span_descriptor_verdict, with_moving
from ..verdict.span_person import (
    SpanNoteFacts,
    SpanPersonFacts,
    span_assessor_verdict,
)
from .drift_result import Drift
from .span_reads import by_model, by_slopes
from .span_result import SpanAssessor, SpanDescriptor, SpanNote
from .span_scores import SpanScores

Blanks = Mapping[tuple[str, str], int]


def count_blanks(blanks: pd.DataFrame) -> Blanks:
    """Lines left blank on test glasses, by assessor and descriptor."""
    tests = blanks[blanks["kind"].isin(TEST_KINDS)]
    counted = tests.groupby(["assessor", "descriptor"]).size().reset_index(name="n")
    return {
        (str(who), str(note)): int(n)
        for who, note, n in zip(
            counted["assessor"], counted["descriptor"], counted["n"], strict=True
        )
    }


def find_drift(
    drifts: Sequence[Drift], assessor: str | None, descriptor: str | None
) -> Drift | None:
    """One chart; None for the panel and for all notes together."""
    for part in drifts:
        if part.assessor == assessor and part.descriptor == descriptor:
            return part
    return None


def who_moves(drifts: Sequence[Drift]) -> list[str]:
    """Who moves on what, the panel first."""
    return [
        f"{part.assessor or 'the panel'} on {part.descriptor or 'all notes together'}"
        for part in sorted(drifts, key=lambda part: part.assessor is not None)
        if part.verdict is not None
    ]


def span_descriptor(
    note: SpanScores,
    results: Sequence[Agreement],
    drifts: Sequence[Drift],
    blanks: Blanks,
    settings: AgreementSettings,
) -> SpanDescriptor:
    """Sum up one descriptor: by the one model, or else by the sessions that were judged."""
    words = Counter(
        part.verdict.word
        for result in results
        for part in result.descriptors
        if part.descriptor == note.descriptor
    )
    drift = find_drift(drifts, None, note.descriptor)
    over, moving = note.over, None if drift is None else drift.verdict
    blank = sum(n for (_, name), n in blanks.items() if name == note.descriptor)
    return SpanDescriptor(
        descriptor=note.descriptor,
        n_sessions=sum(words.values()),
        verdicts=dict(words),
        repeat_sd=note.repeat.panel.sd,
        missing_rate=blank / max(sum(note.n_scores.values()) + blank, 1),
        drift=drift,
        verdict=_descriptor_verdict(note, words, moving, settings),
        n_samples=over.n_samples,
        n_assessors=over.n_assessors,
        reliability_over_sessions=over.reliability,
        reliability_over_sessions_low=over.reliability_low,
        seen_difference=over.seen_difference,
        over_sessions_note=over.reason,
    )


def _descriptor_verdict(
    note: SpanScores,
    words: Mapping[PanelWord, int],
    moving: Verdict[AssessorWord] | None,
    settings: AgreementSettings,
) -> NoteVerdict:
    facts = note.over.facts(note.repeat.n_duplicates)
    if facts is None or not note.over.leads:
        return span_descriptor_verdict(note.descriptor, words, moving, settings)
    return with_moving(over_sessions_verdict(facts, words, settings), moving)


def span_assessors(
    notes: Sequence[SpanScores],
    scores: pd.DataFrame,
    drifts: Sequence[Drift],
    blanks: Blanks,
    settings: AgreementSettings,
    camps: Collection[str] = (),
) -> tuple[SpanAssessor, ...]:
    """Sum up every assessor who scored a test glass in the span; nobody by a note in `camps`."""
    notes = [note.judging_nobody() if note.descriptor in camps else note for note in notes]
    tests = scores[scores["kind"].isin(TEST_KINDS)]
    attended = tests.groupby("assessor")["session"].nunique()
    repeats = repeats_by_session([note.visits for note in notes])
    told = {str(name): [note.own_told(str(name)) for note in notes] for name in attended.index}
    without = astray(told, settings)
    standing = {
        name: standing_of(name, own, repeats, settings, without) for name, own in told.items()
    }
    return tuple(
        _assessor(str(name), int(n), notes, standing[str(name)], drifts, blanks, settings)
        for name, n in attended.items()
    )


def _assessor(
    name: str,
    n_sessions: int,
    notes: Sequence[SpanScores],
    standing: Standing,
    drifts: Sequence[Drift],
    blanks: Blanks,
    settings: AgreementSettings,
) -> SpanAssessor:
    found = [
        _assessor_note(
            *(name, note, standing, find_drift(drifts, name, note.descriptor), blanks),
            *(len(notes), settings),
        )
        for note in notes
    ]
    n_scores = sum(part.n_scores for part in found)
    n_missing = sum(part.n_missing for part in found)
    rate = n_missing / max(n_scores + n_missing, 1)
    facts = [_facts(name, part, note, settings) for part, note in zip(found, notes, strict=True)]
    camps = tuple(note.descriptor for note in notes if note.in_camps)
    person = _person_facts(standing, n_sessions, rate, camps)
    drift = find_drift(drifts, name, None)
    shares = [part.signal_share for part in found if part.signal_share is not None]
    moving = None if drift is None else drift.verdict
    return SpanAssessor(
        assessor=name,
        verdict=span_assessor_verdict(name, facts, person, moving),
        n_sessions=n_sessions,
        n_scores=n_scores,
        n_missing=n_missing,
        missing_rate=rate,
        drift=drift,
        notes=tuple(found),
        signal_share=float(np.mean(shares)) if shares else None,
    )


def _person_facts(
    standing: Standing, n_sessions: int, missing_rate: float, camps: tuple[str, ...]
) -> SpanPersonFacts:
    reading, habits = standing.reading, standing.habits
    return SpanPersonFacts(
        passed=reading.passed,
        against=reading.against,
        habit=habits.word if reading.passed or habits.less_steady else None,
        scale=habits.scale,
        unsteady=habits.unsteady,
        correlation=reading.correlation,
        n_told=reading.n_notes,
        more=reading.more,
        short=reading.short,
        n_sessions=n_sessions,
        missing_rate=missing_rate,
        camps=camps,
    )


def _assessor_note(
    name: str,
    note: SpanScores,
    standing: Standing,
    drift: Drift | None,
    blanks: Blanks,
    n_notes: int,
    settings: AgreementSettings,
) -> SpanNote:
    person = note.person(name, settings)
    if person is None:
        found = by_slopes(name, note, standing, n_notes, settings)
    else:
        found = by_model(person, standing, n_notes, settings)
    return SpanNote(
        descriptor=note.descriptor,
        n_sessions=found.n_sessions,
        slope=found.slope,
        repeat_sd=note.repeat.assessors.get(name, Repeat()).sd,
        n_scores=note.n_scores.get(name, 0),
        n_missing=blanks.get((name, note.descriptor), 0),
        verdict=found.word,
        reason=found.reason,
        drift=drift,
        signal_share=found.signal_share,
    )


def _facts(
    name: str, found: SpanNote, note: SpanScores, settings: AgreementSettings
) -> SpanNoteFacts:
    person = note.person(name, settings)
    sd, usual = found.repeat_sd, usual_repeat_sd(list(note.repeat.assessors.values()))
    if person is not None:
        sd, usual = person.noise, person.usual_noise
    return SpanNoteFacts(
        descriptor=found.descriptor,
        word=found.verdict,
        n_sessions=found.n_sessions,
        slope=found.slope,
        repeat_points=None if sd is None else float(COINCIDENCE * sd),
        usual_repeat_points=None if usual is None else float(COINCIDENCE * usual),
        moving=None if found.drift is None else found.drift.verdict,
    )


def span_private(
    notes: Sequence[SpanScores], settings: AgreementSettings
) -> tuple[PrivateFact, ...]:
    """Notes that an assessor seems not to smell, over three sessions or more."""
    found: list[PrivateFact] = []
    for note in notes:
        if note.over.leads:
            found += flat_over_sessions(note.over, settings)
            continue
        for name, slopes in sorted(note.slopes.items()):
            found += flat_by_slopes(name, note.descriptor, slopes, settings)
    return tuple(found)
