"""Two casks that somebody named before looking: alike, apart, or not to be told yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np
import pandas as pd

from ...as_json import AsJson
from ...errors import NotTogetherError
from ...frames import TEST_KINDS, on_house_scale, usable
from ..indices.additive import Additive
from ..indices.distributions import adjusted_for_many
from ..indices.flight import over_visits
from ..indices.layout import ScoreLayout
from ..indices.pair import PairSpan, pair_span
from ..one_session.serving import (
    in_one_order,
    note_order,
    with_order,
    without_order,
)
from ..settings import AgreementSettings
from ..verdict.pair import PairAsked, PairFacts, PairWord, pair_verdict, two_casks_verdict
from ..verdict.words import Verdict

_SURE = 0.05
_MANY = 8


@dataclass(frozen=True)
class PairNote:
    """Two casks on one descriptor, in points of the 0-100 line.

    Attributes
    ----------
    difference, se
        First less second, and its standard error; None where they cannot be compared.
    at_most
        The two differ by no more, 19 times in 20.
    p_apart
        Of the two being no further apart than is cared for, adjusted over the notes.
    more_sessions
        About so many more like these would decide, if the two differ as they seem to; None beyond
        eight.
    """

    descriptor: str
    n_sessions: int
    n_assessors: int
    difference: float | None
    se: float | None
    at_most: float | None
    p_apart: float | None
    more_sessions: int | None
    verdict: Verdict[PairWord]


@dataclass(frozen=True)
class TwoCasks(AsJson):
    """Whether two named casks are alike, note by note and on the whole."""

    first: str
    second: str
    sessions: tuple[str, ...]
    first_samples: tuple[str, ...]
    second_samples: tuple[str, ...]
    tolerance: float
    verdict: Verdict[PairWord]
    notes: tuple[PairNote, ...]


def two_casks(
    scores: pd.DataFrame,
    first: str,
    second: str,
    *,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    asked: PairAsked = PairAsked.CASKS,
) -> TwoCasks:
    """Compare two casks that were in question before the glasses were poured.

    Choose it for a question that stood beforehand: is the new lot like the old one? Two that
    were picked because their means came out close are close by luck as well: of those a
    session's verdict on the flight is the one to go by.

    Alike on a note: the difference and t(.95) of its standard errors come to no more than the
    tolerance. Further apart: more than the tolerance by a t test, held down over the notes
    (Benjamini & Hochberg 1995, .05). Else it cannot be told yet.

    Parameters
    ----------
    scores
        A scores frame; only sessions in which both were nosed count.
    first, second
        Casks, or samples where a cask has several.
    settings
        The house's thresholds.
    asked
        What is to be done by the answer: take one of two casks, or let a batch follow a batch.

    Raises
    ------
    FrameError, NotTogetherError
        A frame that cannot be used; no session has both.

    Examples
    --------
    >>> rng = np.random.default_rng(2)
    >>> rows = [("S1", a, s, 1, "smoke", 40.0 + 30.0 * (s == "z") + rng.normal(0, 3))
    ...         for a in "ABCDEFGH" for s in "xyz"]
    >>> names = ["session", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> frame = pd.DataFrame(rows, columns=names)
    >>> two_casks(frame, "x", "y").verdict.label, two_casks(frame, "x", "z").verdict.label
    ('alike', 'surely apart')
    """
    tests = with_order(on_house_scale(usable(scores).scores))
    tests = tests[tests["kind"].isin(TEST_KINDS)]
    behind = {name: _behind(tests, name) for name in (first, second)}
    tests = _together(tests, behind)
    if tests.empty or first == second:
        raise NotTogetherError(first, second)
    tests = tests.assign(sample=_renamed(tests["sample"], behind))
    found = [_note(str(name), rows, (first, second), settings) for name, rows in _by_note(tests)]
    return _judged((first, second), found, tests, behind, settings, asked)


_Behind = dict[str, tuple[str, ...]]


def _behind(tests: pd.DataFrame, name: str) -> tuple[str, ...]:
    """Samples of that name, or else of that cask."""
    own = tests.loc[tests["sample"] == name, "sample"]
    if own.empty and "cask" in tests.columns:
        own = tests.loc[tests["cask"] == name, "sample"]
    return tuple(sorted(set(own.astype(str))))


def _together(tests: pd.DataFrame, behind: _Behind) -> pd.DataFrame:
    """Sessions in which both were nosed."""
    here = [set(tests.loc[tests["sample"].isin(names), "session"]) for names in behind.values()]
    return tests[tests["session"].isin(set.intersection(*here))]


def _renamed(samples: pd.Series, behind: _Behind) -> pd.Series:
    """Every sample of a named cask under the name that was given."""
    return samples.replace({one: name for name, names in behind.items() for one in names})


def _by_note(tests: pd.DataFrame) -> list[tuple[object, pd.DataFrame]]:
    return list(tests.groupby("descriptor", sort=True))


@dataclass(frozen=True)
class _Found:
    """One descriptor before anything is said.

    `absent` says that neither has it, `one_order` that everybody had all glasses in one order.
    """

    descriptor: str
    n_sessions: int
    n_assessors: int
    span: PairSpan | None
    absent: bool
    one_order: bool


def _note(
    name: str, rows: pd.DataFrame, named: tuple[str, str], settings: AgreementSettings
) -> _Found:
    own = rows[rows["sample"].isin(named)]
    zero = rows["score"] == rows["scale_low"]
    samples = tuple(sorted(set(rows["sample"])))
    span = None
    each = [part for _, part in rows.groupby("session", sort=True)]
    told = [part for part in each if not in_one_order(part)]
    if set(named) <= set(samples):
        layouts, more = _without_order(told or each, named)
        zeros = float(zero.mean()) > settings.zero_share
        visits = over_visits(layouts, samples, mostly_zero=zeros)
        if visits is not None:
            more = more / visits.sd**2 if visits.sd > 0.0 else 0.0
            fit = _wider(visits.fit, samples.index(named[0]), more)
            span = pair_span(fit, samples, named, settings.tolerance, visits.error)
    return _Found(
        descriptor=name,
        n_sessions=int(own["session"].nunique()),
        n_assessors=int(own["assessor"].nunique()),
        span=span,
        absent=span is not None and bool(zero[own.index].all()),
        one_order=not told,
    )


def _without_order(
    sessions: Sequence[pd.DataFrame], named: tuple[str, str]
) -> tuple[list[ScoreLayout], float]:
    """The sessions with their orders taken out, and what not knowing those better adds.

    To the variance of the mean difference of the two.
    """
    layouts, more = [], 0.0
    for rows in sessions:
        plain, effect = without_order(rows)
        layout = ScoreLayout.of(plain)
        layouts.append(layout)
        order = note_order(layout, rows, effect)
        if order is not None and set(named) <= set(layout.samples):
            one, other = (layout.samples.index(name) for name in named)
            spread = order.spread
            more += float(spread[one, one] + spread[other, other] - 2.0 * spread[one, other])
    return layouts, more / len(sessions) ** 2


def _wider(fit: Additive, place: int, more: float) -> Additive:
    """The fit with more variance of one sample, for a noise of one."""
    unit = fit.unit.copy()
    unit[place, place] += more if np.isfinite(more) else 0.0
    return replace(fit, unit=unit)


def _judged(
    named: tuple[str, str],
    found: list[_Found],
    tests: pd.DataFrame,
    behind: _Behind,
    settings: AgreementSettings,
    asked: PairAsked,
) -> TwoCasks:
    p = np.array([1.0 if part.span is None else part.span.p_apart for part in found])
    notes = [
        _pair_note(named, part, float(q), settings, asked)
        for part, q in zip(found, adjusted_for_many(p), strict=True)
    ]
    more = [part.more_sessions for part in notes if part.verdict.word is PairWord.CANNOT_TELL]
    there = set(tests["session"].astype(str))
    return TwoCasks(
        first=named[0],
        second=named[1],
        sessions=tuple(sorted(there)),
        first_samples=behind[named[0]],
        second_samples=behind[named[1]],
        tolerance=settings.tolerance,
        verdict=two_casks_verdict(
            named,
            [(part.descriptor, part.verdict.word) for part in notes],
            None if None in more else max((number or 0 for number in more), default=None),
            settings,
            asked,
        ),
        notes=tuple(notes),
    )


def _more(times: float, n_sessions: int) -> int | None:
    more = (times - 1.0) * n_sessions
    return max(ceil(more), 1) if more <= _MANY else None


def _pair_note(
    named: tuple[str, str],
    found: _Found,
    p: float,
    settings: AgreementSettings,
    asked: PairAsked,
) -> PairNote:
    span = found.span
    more = None if span is None else _more(span.times, found.n_sessions)
    facts = PairFacts(
        descriptor=found.descriptor,
        difference=None if span is None else span.difference,
        at_most=None if span is None else span.at_most,
        apart=p <= _SURE,
        more=more,
        absent=found.absent,
        one_order=found.one_order,
    )
    return PairNote(
        descriptor=found.descriptor,
        n_sessions=found.n_sessions,
        n_assessors=found.n_assessors,
        difference=facts.difference,
        se=None if span is None else span.se,
        at_most=facts.at_most,
        p_apart=None if span is None else p,
        more_sessions=more,
        verdict=pair_verdict(named, facts, settings, asked),
    )
