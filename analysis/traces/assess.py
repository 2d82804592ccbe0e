"""From answers at fixed seconds to a finding."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from itertools import combinations
from typing import TYPE_CHECKING, Protocol, TypeVar

import numpy as np
import scipy.stats

from .components import Trace, course_of, delay_between, lag_of
from .keys import KeysFound, KeysOfTrace, bent_by, keys_of
from .minutes import Minute, minutes_of
from .parameters import HALF, trace_parameters
from .plan import COURSE_ERROR, ERROR, LATER_ERROR, people_needed
from .result import CourseApart, GivenAt, Later, MeanFound, SampleTraced, TraceMeans, Traces
from .verdict import FEWEST_PEOPLE, course_verdict, trace_verdict

if TYPE_CHECKING:
    import pandas as pd


class OfPerson(Protocol):
    """Whatever one assessor said of one glass."""

    @property
    def assessor(self) -> str:
        """Whose it is."""


Said = TypeVar("Said", bound=OfPerson)


@dataclass(frozen=True)
class Traced:
    """One glass of one assessor, by the names of `TraceMeans`; None where it has no such figure."""

    assessor: str
    sample: str
    facts: Mapping[str, float | None]
    still_there: bool
    keys: KeysOfTrace

    @property
    def part(self) -> float | None:
        """The linger part, which a trace without the note has none of."""
        return self.facts["linger_part"]


def assess_traces(answers: pd.DataFrame, *, session: str = "", note: str = "it") -> Traces:
    """Say whether a note bursts or lingers in each sample, and whether samples differ in that.

    Parameters
    ----------
    answers
        One row a prompt of a glass: `assessor`, `glass` (one number or code a glass of an
        assessor), `sample`, `at_s` (seconds after the sip; missing: not answered), `given` (0 to
        9), `status` (kept counts).

    Examples
    --------
    >>> import pandas as pd
    >>> rows = [{"assessor": f"A{i}", "glass": "1", "sample": "x", "at_s": float(at),
    ...          "given": given, "status": "kept"} for i in range(4)
    ...         for at, given in zip((0, 5, 10, 20, 30, 45, 60), (0, 8, 6, 2, 1, i // 2, 0))]
    >>> assess_traces(pd.DataFrame(rows)).samples[0].verdict.word.value
    'bursts'
    """
    minutes, left_out = minutes_of(answers)
    names = sorted({str(name) for name in answers["sample"]})
    return judge_traces(minutes, names, session=session, note=note, left_out=left_out)


def judge_traces(
    minutes: Sequence[Minute],
    names: Sequence[str],
    *,
    session: str = "",
    note: str = "it",
    left_out: Mapping[str, int] | None = None,
) -> Traces:
    """Say it of traces that count, in samples of these names."""
    traced = traced_of(minutes)
    samples = tuple(_summed(name, traced) for name in names)
    both = list(combinations(samples, 2))
    needed = people_needed(max(1, len(both)))
    pairs = tuple(_pair(note, pair, minutes, traced, needed, len(both)) for pair in both)
    return Traces(
        session=session,
        note=note,
        n_people=len({one.assessor for one in minutes}),
        lag=mean_over_people(by_person(traced, _fact("lag"))),
        samples=tuple(_told(note, one, pairs) for one in samples),
        pairs=pairs,
        people_needed=needed,
        error=ERROR,
        left_out=left_out or {},
        given=tuple(
            GivenAt(one.sample, one.assessor, *each)
            for one in minutes
            for each in zip(one.seconds, one.points, strict=True)
        ),
    )


def traced_of(minutes: Sequence[Minute]) -> list[Traced]:
    """Return what each trace says, with each assessor's lag over all their traces."""
    theirs: dict[str, list[tuple[Sequence[float], Sequence[float]]]] = {}
    for one in minutes:
        theirs.setdefault(one.assessor, []).append((one.seconds, one.points))
    lags = {who: lag_of(traces) for who, traces in theirs.items()}
    return [_trace_of(one, lags[one.assessor]) for one in minutes]


def _trace_of(one: Minute, lag_s: float) -> Traced:
    """Return what one trace says, by the names of the means."""
    found = trace_parameters(one.seconds, one.points)
    course = course_of(one.seconds, one.points, lag_s)
    own: dict[str, float | None] = {
        **{"linger_part": course.linger_part, "burst": course.burst, "linger": course.linger},
        "lag": lag_s,
    }
    e1909 = [each.name for each in fields(TraceMeans) if each.name not in own]
    return Traced(
        one.assessor,
        one.sample,
        {**own, **{name: getattr(found, name) for name in e1909}},
        found.still_there,
        keys_of(one.seconds, one.points),
    )


@dataclass(frozen=True)
class _Summed:
    """The traces of one sample, their means and what the keys say; no word yet."""

    sample: str
    traces: tuple[Traced, ...]
    means: TraceMeans
    keys: KeysFound


def _summed(name: str, traced: Sequence[Traced]) -> _Summed:
    mine = tuple(one for one in traced if one.sample == name)
    means = {
        each.name: mean_over_people(by_person(mine, _fact(each.name)))
        for each in fields(TraceMeans)
    }
    return _Summed(name, mine, TraceMeans(**means), _keys(mine))


def _told(note: str, one: _Summed, pairs: Sequence[CourseApart]) -> SampleTraced:
    """Say of a sample what can be said where it comes before or after others."""
    delays = [delay for pair in pairs if (delay := pair.delay_of(one.sample)) is not None]
    still_there = sum(trace.still_there for trace in one.traces)
    return SampleTraced(
        sample=one.sample,
        n_traces=len(one.traces),
        n_people=len({trace.assessor for trace in one.traces}),
        n_still_there=still_there,
        n_not_perceived=sum(trace.part is None for trace in one.traces),
        means=one.means,
        keys=one.keys,
        verdict=trace_verdict(
            note, one.sample, one.means.linger_part, one.keys, still_there, delays
        ),
    )


def _keys(mine: Sequence[Traced]) -> KeysFound:
    gone = by_person(mine, lambda one: one.keys.at_half_gone_s)
    left = by_person(mine, lambda one: one.keys.at_half_left_s)
    greatest = mean_over_people(by_person(mine, _fact("i_max"))).mean
    return KeysFound(
        n_people=len(gone),
        n_half_gone=sum(share < HALF for share in gone.values()),
        n_half_left=sum(share >= HALF for share in left.values()),
        n_keys=sum(one.keys.n_keys for one in mine),
        n_at_0=sum(one.keys.n_at_0 for one in mine),
        n_at_top=sum(one.keys.at_top for one in mine),
        n_traces=len(mine),
        greatest=greatest or 0.0,
    )


def _fact(name: str) -> Callable[[Traced], float | None]:
    return lambda one: one.facts[name]


def by_person(traced: Sequence[Said], fact: Callable[[Said], float | None]) -> dict[str, float]:
    """Return each assessor's mean of a figure over the glasses that have it."""
    every: dict[str, list[float]] = {}
    for one in traced:
        value = fact(one)
        if value is not None:
            every.setdefault(one.assessor, []).append(value)
    return {who: math.fsum(values) / len(values) for who, values in every.items()}


def mean_over_people(values: Mapping[str, float], error: float = ERROR) -> MeanFound:
    """Return a mean over assessors with its t interval."""
    each = np.array(list(values.values()), float)
    if not len(each):
        return MeanFound(0, None, None, None)
    mean = float(each.mean())
    if len(each) < FEWEST_PEOPLE:
        return MeanFound(len(each), mean, None, None)
    reach = float(
        scipy.stats.t.ppf(1 - error / 2, len(each) - 1) * each.std(ddof=1) / math.sqrt(len(each))
    )
    return MeanFound(len(each), mean, mean - reach, mean + reach)


def _pair(
    note: str,
    pair: tuple[_Summed, _Summed],
    minutes: Sequence[Minute],
    traced: Sequence[Traced],
    needed: int,
    pairs: int,
) -> CourseApart:
    one, other = pair
    first, second = (
        by_person([each for each in traced if each.sample == sample.sample], lambda one: one.part)
        for sample in pair
    )
    both = {who: second[who] - first[who] for who in first if who in second}
    found = mean_over_people(both, COURSE_ERROR / pairs)
    later = _later(minutes, (one.sample, other.sample), tuple(both), LATER_ERROR / pairs)
    bent = bent_by(one.sample, one.keys, other.sample, other.keys)
    verdict = course_verdict(note, one.sample, other.sample, found, needed, bent, later)
    return CourseApart(
        first=one.sample,
        second=other.sample,
        n_people=len(both),
        difference=found.mean,
        low=found.low,
        high=found.high,
        bent_by=bent,
        verdict=verdict,
        later=later,
    )


def _later(
    minutes: Sequence[Minute], samples: tuple[str, str], people: Sequence[str], error: float
) -> Later | None:
    """Return what is left of a difference where one sample may be perceived after the other."""
    if not people:
        return None
    mine = {
        who: tuple(
            [
                (one.seconds, one.points)
                for one in minutes
                if (one.assessor, one.sample) == (who, sample)
            ]
            for sample in samples
        )
        for who in people
    }
    delay = delay_between([(own[0], own[1]) for own in mine.values()])
    apart: dict[str, float] = {}
    for (who, own), lags in zip(mine.items(), delay.lags, strict=True):
        parts = [_part_by(traces, lag) for traces, lag in zip(own, lags, strict=True)]
        if parts[0] is not None and parts[1] is not None:
            apart[who] = parts[1] - parts[0]
    left = mean_over_people(apart, error)
    return Later(delay.seconds, left.mean, left.low, left.high)


def _part_by(traces: Sequence[Trace], lag_s: float) -> float | None:
    """Return the mean linger part of traces that begin at a lag."""
    found = [course_of(seconds, points, lag_s).linger_part for seconds, points in traces]
    parts = [part for part in found if part is not None]
    return math.fsum(parts) / len(parts) if parts else None
