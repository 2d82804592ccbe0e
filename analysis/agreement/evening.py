"""The evening note: what one assessor takes home, and nobody else reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

import numpy as np
import pandas as pd

from analysis.agreement.crossed import Matrix, Vector
from analysis.agreement.layout import Layout
from analysis.agreement.notes import COINCIDENCE, told_slopes
from analysis.agreement.repeat import Repeat, repeatability
from analysis.agreement.result import Agreement, AssessorAgreement, Json, plain
from analysis.agreement.settings import AgreementSettings
from analysis.agreement.verdict.evening import (
    Alone,
    Apart,
    Clearest,
    Earliest,
    Progress,
    Repeated,
    alone_sentence,
    apart_sentence,
    clearest_sentence,
    earliest_sentence,
    next_step,
    private_note,
    progress_sentences,
    repeated_sentence,
    swap_note,
    together_sentence,
    word_sentence,
)
from analysis.errors import NobodyError
from analysis.frames import TEST_KINDS, on_house_scale, usable

_STANDS_OUT = 1.0
"""A note stands out in a glass from one sd of the samples above their mean on."""
_NEARLY_ALONE = 0.25
"""At most so large a share of the others found the note there at all."""
_LEAST_REPEATS = 4
_MOST_APART = 2


@dataclass(frozen=True)
class EveningNote:
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
    """

    assessor: str
    session: str
    repeated: tuple[str, ...]
    found: tuple[str, ...]
    differ: tuple[str, ...]
    progress: tuple[str, ...]
    private: tuple[str, ...]
    next_action: str

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of it but what is private, in the order it is read."""
        return (*self.repeated, *self.found, *self.differ, *self.progress)

    def to_dict(self, *, private: bool = False) -> Json:
        """Plain values, ready for JSON; what is private only when asked for."""
        found: Json = plain(asdict(self))
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
    >>> from analysis.agreement import assess_agreement
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
    told = [part.descriptor for part in person.notes if part.verdict is not None]
    trays = {name: _Tray.of(rows, assessor) for name, rows in tests.groupby("descriptor")}
    known = [(str(name), tray) for name, tray in trays.items() if tray is not None]
    apart = [(name, tray) for name, tray in known if name in told]
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
        next_action=next_step([part.verdict or "" for part in person.notes], person.n_missing),
    )


@dataclass(frozen=True)
class _Tray:
    """One person beside the others on one note; NaN where either is missing."""

    samples: tuple[str, ...]
    own: Vector
    others: Vector
    level: float

    @classmethod
    def of(cls, rows: pd.DataFrame, assessor: str) -> _Tray | None:
        layout = Layout.of(rows)
        if assessor not in layout.assessors or layout.n_assessors < 2:
            return None
        row = layout.assessors.index(assessor)
        adjusted: Matrix = layout.adjusted
        level = float(np.nanmean(layout.means[row] - adjusted[row]))
        return cls(layout.samples, layout.means[row], layout.others[row], level)

    @property
    def differences(self) -> Vector:
        """Own scores less the others', own level taken out."""
        found: Vector = self.own - self.level - self.others
        return found


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
    apart: Sequence[tuple[str, _Tray]],
    known: Sequence[tuple[str, _Tray]],
    tests: pd.DataFrame,
    settings: AgreementSettings,
) -> tuple[str, ...]:
    said = []
    earliest = _earliest(apart, tests, person.assessor, 2.0 * settings.tolerance)
    if earliest is not None:
        said.append(earliest_sentence(earliest))
    clearest = _clearest(person, dict(apart))
    if clearest is not None:
        said.append(clearest_sentence(clearest))
    alone = _alone([name for name, _ in known], tests, person.assessor, settings)
    if alone is not None:
        said.append(alone_sentence(alone))
    return tuple(said)


def _earliest(
    apart: Sequence[tuple[str, _Tray]], tests: pd.DataFrame, assessor: str, least: float
) -> Earliest | None:
    """The first glass with a note well above its mean for the person and for the others."""
    places = tests[tests["assessor"] == assessor].groupby("sample")["position"].min()
    best: Earliest | None = None
    for name, tray in apart:
        out = (_standing(tray.own) > _STANDS_OUT) & (_standing(tray.others) > _STANDS_OUT)
        out &= np.nan_to_num(tray.own) >= least
        for at in np.flatnonzero(out):
            place = places.get(tray.samples[at], np.nan)
            if np.isnan(place) or (best is not None and place >= best.place):
                continue
            own, others = float(tray.own[at]), float(tray.others[at])
            best = Earliest(name, tray.samples[at], int(place), own, others)
    return best


def _standing(values: Vector) -> Vector:
    sd = float(np.nanstd(values))
    found: Vector = (values - np.nanmean(values)) / sd if sd > 0 else np.zeros(len(values))
    return np.nan_to_num(found)


def _clearest(person: AssessorAgreement, apart: Mapping[str, _Tray]) -> Clearest | None:
    """The note on which the person follows the others most surely."""
    sure = [
        (part.slope / part.slope_se, part.descriptor)
        for part in person.notes
        if part.descriptor in apart and part.slope and part.slope_se
    ]
    if not sure or max(sure)[0] <= 1.0:
        return None
    name = max(sure)[1]
    tray = apart[name]
    both = np.where(np.isnan(tray.others), np.nan, tray.own)
    low, high = int(np.nanargmin(both)), int(np.nanargmax(both))
    return Clearest(
        name,
        (tray.samples[low], float(tray.own[low]), float(tray.others[low])),
        (tray.samples[high], float(tray.own[high]), float(tray.others[high])),
    )


def _alone(
    names: Sequence[str], tests: pd.DataFrame, assessor: str, settings: AgreementSettings
) -> Alone | None:
    """A note found in every glass of a repeated sample where hardly anybody else found it."""
    best: Alone | None = None
    for name in names:
        rows = tests[tests["descriptor"] == name]
        own = rows[rows["assessor"] == assessor].groupby("sample")["score"].agg(["min", "size"])
        others = rows[rows["assessor"] != assessor]
        there = (others["score"] > others["scale_low"]).groupby(others["sample"]).mean()
        twice = own[(own["size"] > 1) & (own["min"] >= settings.tolerance)]
        for sample, least in twice["min"].items():
            rare = float(there.get(sample, 1.0)) <= _NEARLY_ALONE
            if rare and (best is None or least > best.own):
                best = Alone(name, str(sample), float(least))
    return best


def _differ(
    person: AssessorAgreement, apart: Sequence[tuple[str, _Tray]], settings: AgreementSettings
) -> tuple[str, ...]:
    said = [
        sentence
        for part in person.notes
        if part.verdict and (sentence := word_sentence(part.descriptor, part.verdict))
    ]
    if person.swap is not None and person.swap.probability >= settings.flag_probability:
        said.insert(0, swap_note(person.swap.samples))
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
) -> Progress:
    now = _repeat_points([tonight], person.assessor)
    earlier = _earlier(recent, tonight, person.assessor)
    before = [_correlation(part, person.assessor, settings) for part in earlier]
    known = [value for value in before if value is not None]
    return Progress(
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
            found = repeatability([Layout.of(rows)]).assessors
            pooled = pooled.plus(found.get(assessor, Repeat()))
    if pooled.sd is None or pooled.df < _LEAST_REPEATS:
        return None
    return float(COINCIDENCE * pooled.sd)


def _correlation(scores: pd.DataFrame, assessor: str, settings: AgreementSettings) -> float | None:
    """Mean correlation with the others over the notes that session told apart."""
    found = []
    for _, rows in scores.groupby("descriptor"):
        slopes = told_slopes([rows], (0.0, 100.0), settings).get(assessor, [])
        found += [part.correlation for part in slopes if np.isfinite(part.correlation)]
    return float(np.mean(found)) if found else None
