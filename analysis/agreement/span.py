"""Several sessions together: a line each, the assessors over all of them, and who is moving."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.agreement.assess import assess_agreement
from analysis.agreement.assessors import (
    Reading,
    Slope,
    reading,
    span_word,
    usual_repeat_sd,
)
from analysis.agreement.drift import Drift, reference_drift
from analysis.agreement.layout import Layout
from analysis.agreement.notes import COINCIDENCE, told_slopes
from analysis.agreement.repeat import Repeat, Repeatability, repeatability
from analysis.agreement.result import Agreement, PrivateFact
from analysis.agreement.settings import AgreementSettings
from analysis.agreement.span_result import (
    Span,
    SpanAssessor,
    SpanDescriptor,
    SpanNote,
    SpanSession,
)
from analysis.agreement.verdict import Verdict, private_sentence
from analysis.agreement.verdict.span import (
    SpanNoteFacts,
    span_assessor_verdict,
    span_descriptor_verdict,
    span_sentence,
)
from analysis.agreement.verdict.words import AssessorWord
from analysis.errors import NoScoresError, TooLittleError
from analysis.frames import TEST_KINDS, on_house_scale, usable

_LEAST_FOR_PRIVATE = 3
"""Sessions that must agree before anything near a person's health is said, even in private."""


def assess_span(
    scores: pd.DataFrame,
    *,
    earlier: pd.DataFrame | None = None,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Span:
    """Judge several sessions one by one, and what they say together.

    Each session is judged as :func:`assess_agreement` does, repeats pooled with the sessions
    before it. Over the span an assessor's slopes are put together session by session, weighed
    by how sure each is, and classed by :func:`reading`; the hidden reference is charted.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of any number of sessions.
    earlier
        Scores of sessions before the span, for the repeats of its first sessions.
    settings
        The house's thresholds.
    seed
        Seed of the permutations and of the redrawn panels.
    progress
        Told how many sessions are done, of how many.

    Returns
    -------
    Span

    Raises
    ------
    FrameError, NoScoresError
        A frame that cannot be used, or nothing left of it. A session that cannot be judged
        is no error: its line says why.

    Examples
    --------
    >>> rng = np.random.default_rng(4)
    >>> rows = [(f"S{t}", f"2026-0{t + 1}-10", who, f"x{t}{s}", r, "smoke",
    ...          12.0 * s + rng.normal(20, 3))
    ...         for t in range(3) for who in "ABCDEF" for s in range(6) for r in (1, 2)]
    >>> names = ["session", "held_on", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> found = assess_span(pd.DataFrame(rows, columns=names))
    >>> [line.verdict for line in found.sessions][0], found.assessors[0].verdict
    ('safe to act on', 'reads with the panel')
    """
    used = usable(scores)
    if used.scores.empty:
        raise NoScoresError(used.left_out)
    everything = on_house_scale(used.scores)
    order = _in_order(everything)
    sessions, results = [], []
    for done, name in enumerate(order):
        rows, recent = _with_recent(scores, earlier, name, order[:done], settings)
        line, result = _session(name, rows, recent, settings, seed)
        sessions.append(line)
        results += [result] if result is not None else []
        if progress is not None:
            progress(done + 1, len(order))
    notes = _notes(everything, order, settings)
    drifts = reference_drift(everything, [note.descriptor for note in notes], settings.false_share)
    blanks = _count(used.blanks)
    descriptors = tuple(_descriptor(note, results, drifts, blanks) for note in notes)
    assessors = _assessors(notes, everything, drifts, blanks, settings)
    dates = (sessions[0].held_on or order[0], sessions[-1].held_on or order[-1])
    words = Counter(line.verdict for line in sessions if line.verdict is not None)
    said = span_sentence(len(order), dates, words, _moving(drifts))
    return Span(
        first=order[0],
        last=order[-1],
        sentence=said.sentence,
        next_action=said.next_action,
        n_scores=int(everything["kind"].isin(TEST_KINDS).sum()),
        seed=seed,
        left_out=used.left_out,
        sessions=tuple(sessions),
        descriptors=descriptors,
        assessors=assessors,
        drift=_find(drifts, None, None),
        private=_private(notes, settings),
    )


def _in_order(scores: pd.DataFrame) -> list[str]:
    dates = scores.groupby("session")["held_on"].min().reset_index()
    dates = dates.sort_values(["held_on", "session"], na_position="last")
    return [str(name) for name in dates["session"]]


def _with_recent(
    scores: pd.DataFrame,
    earlier: pd.DataFrame | None,
    name: str,
    before: Sequence[str],
    settings: AgreementSettings,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The rows of one session, and those its repeats are pooled with."""
    session = scores["session"].astype("str")
    kept = list(before)[-settings.recent_sessions :]
    recent = scores[session.isin(kept)]
    if earlier is not None and len(kept) < settings.recent_sessions:
        recent = pd.concat([earlier, recent])
    return scores[session == name], recent


def _session(
    name: str,
    rows: pd.DataFrame,
    recent: pd.DataFrame,
    settings: AgreementSettings,
    seed: int,
) -> tuple[SpanSession, Agreement | None]:
    day = pd.to_datetime(rows["held_on"]).min() if "held_on" in rows else pd.NaT
    held_on = None if pd.isna(day) else str(day.date())
    try:
        found = assess_agreement(rows, recent=recent, settings=settings, seed=seed)
    except TooLittleError as error:
        n = (rows["assessor"].nunique(), rows["sample"].nunique())
        return SpanSession(name, held_on, None, str(error), None, *n, 0, 0), None
    line = SpanSession(
        session=name,
        held_on=held_on,
        verdict=found.verdict,
        sentence=found.sentence,
        next_action=found.next_action,
        n_assessors=found.n_assessors,
        n_samples=found.n_samples,
        n_safe=sum(part.verdict == "safe to act on" for part in found.descriptors),
        n_descriptors=len(found.descriptors),
    )
    return line, found


@dataclass(frozen=True)
class _SpanNote:
    """One descriptor over the span, before anything is said."""

    descriptor: str
    slopes: Mapping[str, Sequence[Slope]]
    repeat: Repeatability
    n_scores: Mapping[str, int]


def _notes(
    scores: pd.DataFrame, order: Sequence[str], settings: AgreementSettings
) -> list[_SpanNote]:
    found = []
    for name, rows in scores.groupby("descriptor", sort=True):
        by_session = dict(iter(rows.groupby("session")))
        parts = [by_session[session] for session in order if session in by_session]
        tests = rows[rows["kind"].isin(TEST_KINDS)]
        found.append(
            _SpanNote(
                descriptor=str(name),
                slopes=told_slopes(parts, (0.0, 100.0), settings),
                repeat=repeatability([Layout.of(part) for part in parts]),
                n_scores={str(who): int(n) for who, n in tests.groupby("assessor").size().items()},
            )
        )
    return found


_Blanks = Mapping[tuple[str, str], int]


def _count(blanks: pd.DataFrame) -> _Blanks:
    """Lines left blank on test glasses, by assessor and descriptor."""
    tests = blanks[blanks["kind"].isin(TEST_KINDS)]
    counted = tests.groupby(["assessor", "descriptor"]).size().reset_index(name="n")
    return {
        (str(who), str(note)): int(n)
        for who, note, n in zip(
            counted["assessor"], counted["descriptor"], counted["n"], strict=True
        )
    }


def _find(drifts: Sequence[Drift], assessor: str | None, descriptor: str | None) -> Drift | None:
    for part in drifts:
        if part.assessor == assessor and part.descriptor == descriptor:
            return part
    return None


def _moving(drifts: Sequence[Drift]) -> list[str]:
    """Who moves on what, the panel first."""
    return [
        f"{part.assessor or 'the panel'} on {part.descriptor or 'all notes together'}"
        for part in sorted(drifts, key=lambda part: part.assessor is not None)
        if part.direction is not None
    ]


def _said(drift: Drift | None) -> Verdict | None:
    if drift is None or drift.sentence is None or drift.next_action is None:
        return None
    up = AssessorWord.MOVING_UP if drift.direction == "upward" else AssessorWord.MOVING_DOWN
    return Verdict(f"{up} since {drift.since}", drift.sentence, drift.next_action)


def _descriptor(
    note: _SpanNote, results: Sequence[Agreement], drifts: Sequence[Drift], blanks: _Blanks
) -> SpanDescriptor:
    words = Counter(
        part.verdict
        for result in results
        for part in result.descriptors
        if part.descriptor == note.descriptor
    )
    drift = _find(drifts, None, note.descriptor)
    said = span_descriptor_verdict(note.descriptor, words, _said(drift))
    blank = sum(n for (_, name), n in blanks.items() if name == note.descriptor)
    return SpanDescriptor(
        descriptor=note.descriptor,
        n_sessions=sum(words.values()),
        verdicts=dict(words),
        repeat_sd=note.repeat.panel.sd,
        missing_rate=blank / max(sum(note.n_scores.values()) + blank, 1),
        drift=drift,
        verdict=said.word,
        sentence=said.sentence,
        next_action=said.next_action,
    )


def _assessors(
    notes: Sequence[_SpanNote],
    scores: pd.DataFrame,
    drifts: Sequence[Drift],
    blanks: _Blanks,
    settings: AgreementSettings,
) -> tuple[SpanAssessor, ...]:
    tests = scores[scores["kind"].isin(TEST_KINDS)]
    attended = tests.groupby("assessor")["session"].nunique()
    return tuple(
        _assessor(str(name), int(n), notes, drifts, blanks, settings)
        for name, n in attended.items()
    )


def _assessor(
    name: str,
    n_sessions: int,
    notes: Sequence[_SpanNote],
    drifts: Sequence[Drift],
    blanks: _Blanks,
    settings: AgreementSettings,
) -> SpanAssessor:
    found = [
        _assessor_note(name, note, _find(drifts, name, note.descriptor), blanks, settings)
        for note in notes
    ]
    n_scores = sum(part.n_scores for part in found)
    n_missing = sum(part.n_missing for part in found)
    rate = n_missing / max(n_scores + n_missing, 1)
    facts = [_facts(part, note) for part, note in zip(found, notes, strict=True)]
    drift = _find(drifts, name, None)
    said = span_assessor_verdict(name, facts, n_sessions, rate, _said(drift))
    return SpanAssessor(
        assessor=name,
        verdict=said.word,
        sentence=said.sentence,
        next_action=said.next_action,
        n_sessions=n_sessions,
        n_scores=n_scores,
        n_missing=n_missing,
        missing_rate=rate,
        drift=drift,
        notes=tuple(found),
    )


def _assessor_note(
    name: str,
    note: _SpanNote,
    drift: Drift | None,
    blanks: _Blanks,
    settings: AgreementSettings,
) -> SpanNote:
    slopes = [part for part in note.slopes.get(name, ()) if np.isfinite(part.true_se)]
    repeat = note.repeat.assessors.get(name, Repeat())
    usual = usual_repeat_sd(list(note.repeat.assessors.values()))
    word = span_word(slopes, repeat, usual, settings)
    reason = None
    if not slopes:
        reason = "the panel told the samples apart on it in no session this assessor was in"
    elif word is None:
        reason = "too close to call"
    return SpanNote(
        descriptor=note.descriptor,
        n_sessions=len(slopes),
        slope=_slope(slopes),
        repeat_sd=repeat.sd,
        n_scores=note.n_scores.get(name, 0),
        n_missing=blanks.get((name, note.descriptor), 0),
        verdict=None if word is None else str(word),
        reason=reason,
        drift=drift,
    )


def _slope(slopes: Sequence[Slope]) -> float | None:
    if not slopes:
        return None
    weights = np.array([1.0 / part.true_se**2 for part in slopes])
    return float(np.average([part.true_slope for part in slopes], weights=weights))


def _facts(found: SpanNote, note: _SpanNote) -> SpanNoteFacts:
    usual = usual_repeat_sd(list(note.repeat.assessors.values()))
    return SpanNoteFacts(
        descriptor=found.descriptor,
        word=None if found.verdict is None else AssessorWord(found.verdict),
        n_sessions=found.n_sessions,
        slope=found.slope,
        repeat_points=None if found.repeat_sd is None else float(COINCIDENCE * found.repeat_sd),
        usual_repeat_points=None if usual is None else float(COINCIDENCE * usual),
        moving=_said(found.drift),
    )


def _private(notes: Sequence[_SpanNote], settings: AgreementSettings) -> tuple[PrivateFact, ...]:
    """Notes that an assessor seems not to smell, over three sessions or more."""
    found = []
    for note in notes:
        for name, slopes in sorted(note.slopes.items()):
            classed: Reading = reading(slopes)
            if len(slopes) >= _LEAST_FOR_PRIVATE and classed.flat > settings.flag_probability:
                said, action = private_sentence(name, note.descriptor, len(slopes))
                found.append(
                    PrivateFact(name, note.descriptor, classed.flat, len(slopes), said, action)
                )
    return tuple(found)
