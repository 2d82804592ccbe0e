"""From answers at fixed seconds to a finding."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from itertools import combinations
from typing import TYPE_CHECKING, Protocol, TypeVar

import numpy as np
import scipy.stats

from .components import course_of
from .parameters import POINTS_A_STEP, counts, trace_parameters
from .plan import COURSE_ERROR, ERROR, people_needed
from .result import CourseApart, GivenAt, MeanFound, SampleTraced, TraceMeans, Traces
from .verdict import FEWEST_PEOPLE, course_verdict, trace_verdict

if TYPE_CHECKING:
    import pandas as pd

KEPT = "kept"
TOO_FEW = "with too few prompts answered"
UNANSWERED = "not answered"


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
    traced, given, left_out = _traced(answers)
    names = sorted({str(name) for name in answers["sample"]})
    pairs = list(combinations(names, 2))
    needed = people_needed(max(1, len(pairs)))
    return Traces(
        session=session,
        note=note,
        n_people=len({one.assessor for one in traced}),
        samples=tuple(_sample(note, name, traced) for name in names),
        pairs=tuple(_pair(note, pair, traced, len(pairs), needed) for pair in pairs),
        people_needed=needed,
        error=ERROR,
        left_out=left_out,
        given=given,
    )


def _traced(
    answers: pd.DataFrame,
) -> tuple[list[Traced], tuple[GivenAt, ...], dict[str, int]]:
    """Return the glasses that count, what was said of them, and how many others there are."""
    left_out: Counter[str] = Counter()
    traced: list[Traced] = []
    given: list[GivenAt] = []
    for (who, _), one in answers.groupby(["assessor", "glass"], sort=True):
        odd = [status for status in one["status"] if status != KEPT]
        told = one[one["at_s"].notna() & one["given"].notna()]
        seconds = [float(at) for at in told["at_s"]]
        if odd:
            left_out[str(odd[0]).replace("_", " ")] += 1
        elif not counts(seconds):
            left_out[TOO_FEW if seconds else UNANSWERED] += 1
        else:
            points = [float(key) * POINTS_A_STEP for key in told["given"]]
            sample = str(one["sample"].iloc[0])
            traced.append(trace_of(str(who), sample, seconds, points))
            given += [
                GivenAt(sample, str(who), *each) for each in zip(seconds, points, strict=True)
            ]
    return traced, tuple(given), dict(left_out)


def trace_of(
    assessor: str, sample: str, seconds: Sequence[float], points: Sequence[float]
) -> Traced:
    """Return what one trace says, by the names of the means."""
    found, course = trace_parameters(seconds, points), course_of(seconds, points)
    own = {"linger_part": course.linger_part, "burst": course.burst, "linger": course.linger}
    e1909 = [each.name for each in fields(TraceMeans) if each.name not in own]
    return Traced(
        assessor,
        sample,
        {**own, **{name: getattr(found, name) for name in e1909}},
        found.still_there,
    )


def _sample(note: str, name: str, traced: Sequence[Traced]) -> SampleTraced:
    mine = [one for one in traced if one.sample == name]
    means = TraceMeans(
        **{
            each.name: mean_over_people(by_person(mine, _fact(each.name)))
            for each in fields(TraceMeans)
        }
    )
    return SampleTraced(
        sample=name,
        n_traces=len(mine),
        n_people=len({one.assessor for one in mine}),
        n_still_there=sum(one.still_there for one in mine),
        n_not_perceived=sum(one.part is None for one in mine),
        means=means,
        verdict=trace_verdict(note, name, means.linger_part, len(mine)),
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
    note: str, pair: tuple[str, str], traced: Sequence[Traced], pairs: int, needed: int
) -> CourseApart:
    first, second = (
        by_person([one for one in traced if one.sample == name], lambda one: one.part)
        for name in pair
    )
    both = {who: second[who] - first[who] for who in first if who in second}
    found = mean_over_people(both, COURSE_ERROR / pairs)
    interval = (
        None
        if found.mean is None or found.low is None or found.high is None
        else (found.mean, found.low, found.high)
    )
    verdict = course_verdict(note, *pair, len(both), interval, needed)
    return CourseApart(*pair, len(both), found.mean, found.low, found.high, verdict)
