"""The evening note: what one assessor takes home, and nobody else reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ...as_json import AsJson, Json
from ...errors import NobodyError
from ...frames import TEST_KINDS, on_house_scale, usable
from ...house_line import HIGH, LOW
from ..indices.layout import ScoreLayout
from ..indices.repeat import Repeat, repeatability
from ..sessions.drift import chart_drift
from ..sessions.drift_result import Drift
from ..settings import AgreementSettings
from ..verdict.evening import (
    Apart,
    OwnWay,
    Repeated,
    alone_sentence,
    apart_sentence,
    clearest_sentence,
    earliest_sentence,
    next_step,
    own_drift_sentence,
    private_note,
    progress_sentences,
    repeated_sentence,
    swap_note,
    together_sentence,
    word_sentence,
)
from .evening_finds import OwnTray, alone, clearest, earliest
from .notes import COINCIDENCE, LEAST_REPEATS, told_slopes
from .result import Agreement, AssessorAgreement

_MOST_APART = 2


@dataclass(frozen=True)
class EveningNote(AsJson):
    """What one assessor takes home: sentences to that person, by what they are about.

    Attributes
    ----------
    repeated, found, differ, progress
        What they repeated, what they found first, where they and the panel differ, and their
        own way over their earlier sessions. There is no rank in it, and no other name.
    private
        What may be close to this person's health; for them and the lead alone.
    next_action
        One thing to do.
    moving, drift
        Whether they have moved beside the others over their sessions, and the chart of it.
    """

    assessor: str
    session: str
    repeated: tuple[str, ...]
    found: tuple[str, ...]
    differ: tuple[str, ...]
    progress: tuple[str, ...]
    private: tuple[str, ...]
    next_action: str
    moving: tuple[str, ...] = ()
    drift: Drift | None = None

    json_sometimes = ("private",)

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of it but what is private, in the order it is read."""
        return (*self.repeated, *self.found, *self.differ, *self.progress, *self.moving)

    def to_dict(self, *, private: bool = False) -> Json:
        """Plain values, ready for JSON; what is private only when asked for."""
        found = super().to_dict()
        if not private:
            found.pop("private")
        return found


def evening_note(
    agreement: Agreement,
    scores: pd.DataFrame,
    recent: pd.DataFrame | None,
    assessor: str,
    *,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
) -> EveningNote:
    """Write the note of one assessor after the reveal.

    Parameters
    ----------
    agreement
        The session as judged.
    scores
        The scores frame it was judged from.
    recent
        Scores of earlier sessions, for the person's own progress; None for none.
    assessor
        Whose note.
    settings
        The house's thresholds.

    Returns
    -------
    EveningNote

    Raises
    ------
    NobodyError
        When that assessor scored nothing in the session.

    Examples
    --------
    >>> from oakpanel.analysis.agreement import assess_agreement
    >>> rng = np.random.default_rng(1)
    >>> rows = [("S1", a, f"glass {s}", r, "smoke", 12.0 * s + rng.normal(20, 4))
    ...         for a in "ABCDEF" for s in range(6) for r in (1, 2)]
    >>> names = ["session", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> frame = pd.DataFrame(rows, columns=names)
    >>> note = evening_note(assess_agreement(frame), frame, None, "A")
    >>> note.repeated[0].startswith("6 samples came back to you unmarked")
    True
    """
    person = next((part for part in agreement.assessors if part.assessor == assessor), None)
    if person is None:
        there = [part.assessor for part in agreement.assessors]
        raise NobodyError(agreement.session, assessor, there)
    tonight = on_house_scale(usable(scores).scores)
    tests = tonight[tonight["kind"].isin(TEST_KINDS)]
    told = [part.descriptor for part in person.notes if part.verdict or part.evening_verdict]
    trays = {name: OwnTray.of(rows, assessor) for name, rows in tests.groupby("descriptor")}
    known = [(str(name), tray) for name, tray in trays.items() if tray is not None]
    apart = [(name, tray) for name, tray in known if name in told]
    drift = _own_drift(scores, recent, assessor)
    return EveningNote(
        assessor=assessor,
        session=agreement.session,
        repeated=(repeated_sentence(_repeated(tonight, assessor)),),
        found=_found(person, apart, known, tests, settings),
        differ=_differ(person, apart, settings),
        progress=tuple(progress_sentences(_progress(person, tonight, recent, settings))),
        private=tuple(
            private_note(fact.descriptor, fact.n_sessions)
            for fact in agreement.private
            if fact.assessor == assessor
        ),
        next_action=next_step(
            [part.verdict for part in person.notes if part.verdict], person.n_missing
        ),
        moving=() if drift is None else (own_drift_sentence(drift.own_facts),),
        drift=drift,
    )


def _own_drift(scores: pd.DataFrame, recent: pd.DataFrame | None, assessor: str) -> Drift | None:
    """The person's own chart over all their sessions to this one; None without any before."""
    if recent is None or recent.empty:
        return None
    everything = on_house_scale(usable(pd.concat([recent, scores])).scores)
    charts = chart_drift(everything, sorted({str(note) for note in everything["descriptor"]}))
    found = (part for part in charts if part.assessor == assessor and part.descriptor is None)
    return next(found, None)


def _repeated(tonight: pd.DataFrame, assessor: str) -> Repeated | None:
    own = tonight[tonight["assessor"] == assessor]
    groups = own.groupby(["descriptor", "sample"])["score"]
    spans = (groups.max() - groups.min())[groups.size() > 1].reset_index()
    if spans.empty:
        return None
    by_note = spans.groupby("descriptor")["score"].mean().sort_values(kind="stable")
    return Repeated(
        samples=tuple(sorted(set(spans["sample"]))),
        middle=float(by_note.median()),
        closest=(str(by_note.index[0]), float(by_note.iloc[0])),
        furthest=(str(by_note.index[-1]), float(by_note.iloc[-1])),
    )


def _found(
    person: AssessorAgreement,
    apart: Sequence[tuple[str, OwnTray]],
    known: Sequence[tuple[str, OwnTray]],
    tests: pd.DataFrame,
    settings: AgreementSettings,
) -> tuple[str, ...]:
    said = []
    first = earliest(apart, tests, person.assessor, 2.0 * settings.tolerance)
    if first is not None:
        said.append(earliest_sentence(first))
    most = clearest(person, dict(apart))
    if most is not None:
        said.append(clearest_sentence(most))
    rare = alone([name for name, _ in known], tests, person.assessor, settings)
    if rare is not None:
        said.append(alone_sentence(rare))
    return tuple(said)


def _differ(
    person: AssessorAgreement, apart: Sequence[tuple[str, OwnTray]], settings: AgreementSettings
) -> tuple[str, ...]:
    said = [
        sentence
        for part in person.notes
        if part.verdict and (sentence := word_sentence(part.descriptor, part.verdict))
    ]
    if person.swap is not None and person.swap.probability >= settings.flag_probability:
        said.insert(0, swap_note(person.swap))
    glasses = [
        Apart(name, tray.samples[at], float(tray.own[at]) - tray.level, float(tray.others[at]))
        for name, tray in apart
        for at in np.flatnonzero(np.abs(tray.differences) > 2.0 * settings.tolerance)
    ]
    glasses.sort(key=lambda part: -abs(part.own - part.others))
    said += [apart_sentence(part) for part in glasses[:_MOST_APART]]
    return tuple(said) or (together_sentence(len(apart)),)


def _progress(
    person: AssessorAgreement,
    tonight: pd.DataFrame,
    recent: pd.DataFrame | None,
    settings: AgreementSettings,
) -> OwnWay:
    now = _repeat_points([tonight], person.assessor)
    earlier = _earlier(recent, tonight, person.assessor)
    before = [_correlation(part, person.assessor, settings) for part in earlier]
    known = [value for value in before if value is not None]
    return OwnWay(
        n_sessions=len(earlier),
        correlation=person.correlation,
        correlation_before=float(np.mean(known)) if known else None,
        repeat_points=now,
        repeat_points_before=_repeat_points(earlier, person.assessor),
        n_missing=person.n_missing,
    )


def _earlier(
    recent: pd.DataFrame | None, tonight: pd.DataFrame, assessor: str
) -> list[pd.DataFrame]:
    """Sessions before this one in which the person scored."""
    if recent is None or recent.empty:
        return []
    scores = on_house_scale(usable(recent).scores)
    there = set(scores.loc[scores["assessor"] == assessor, "session"]) - set(tonight["session"])
    return [scores[scores["session"] == name] for name in sorted(there)]


def _repeat_points(sessions: Sequence[pd.DataFrame], assessor: str) -> float | None:
    """Points within which two nosings lie 19 times in 20, over all notes."""
    pooled = Repeat()
    for scores in sessions:
        for _, rows in scores.groupby("descriptor"):
            found = repeatability([ScoreLayout.of(rows)]).assessors
            pooled = pooled.plus(found.get(assessor, Repeat()))
    if pooled.sd is None or pooled.df < LEAST_REPEATS:
        return None
    return float(COINCIDENCE * pooled.sd)


def _correlation(scores: pd.DataFrame, assessor: str, settings: AgreementSettings) -> float | None:
    """Mean correlation with the others over the notes that session told apart."""
    found = []
    for _, rows in scores.groupby("descriptor"):
        slopes = told_slopes([rows], (LOW, HIGH), settings).get(assessor, [])
        found += [part.correlation for part in slopes if np.isfinite(part.correlation)]
    return float(np.mean(found)) if found else None
