"""What so many people can tell by tracing two samples, before a glass is poured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

import numpy as np
import scipy.stats

from ..as_json import AsJson
from ..chance_words import in_100
from ..errors import InputError
from ..readable import Readable

ERROR = 0.05
COURSE_ERROR = 0.04
"""What a difference in course is tested at, so that it is said falsely in at most .05: parts that
are cut off at 0 are no normal differences (`bench_words apart`)."""
LATER_ERROR = 0.03
"""What it is tested at once more where each sample begins at its own lag: the delay between them is
fitted to the same traces, and its error is in no interval (`bench_words apart-later`)."""
ENOUGH = 0.8
MOST_PEOPLE = 500


class CourseFar(StrEnum):
    """How far two courses are apart, burst and linger in points at their peaks."""

    MILD = "40 and 25 against 30 and 35"
    STRONG = "45 and 15 against 20 and 40"


BOTH_TRACED = {CourseFar.MILD: 0.71, CourseFar.STRONG: 1.68}
"""Mean over sd of one person's difference in L / (L + B), who traces both samples once."""
ONE_TRACED = {CourseFar.MILD: 0.87, CourseFar.STRONG: 2.2}
"""Distance in sd of a glass where nobody traces both. Both are measured on made-up traces by
`python -m tests.bench.bench_traces`, by the lag that a session finds for each person: it is 3 s
with an sd of 2 there, the shapes of people wobble by .3, and those of one person by .2 from glass
to glass. Of noses that always perceive alike a mild difference is .75 away, of those .68."""

BESIDE_DELAY = 0.9
"""What is left of such a distance where a difference has to stand beside a delay between the
samples too: a mild one is found in .63 by 16 people and in .33 by 8 (`bench_words apart-mild`)."""


@dataclass(frozen=True)
class TracePower:
    """Chance that a difference is found: by these people, each of whom traces both samples."""

    apart: CourseFar
    power: float


@dataclass(frozen=True, repr=False)
class TracePlan(AsJson, Readable):
    """What a number of people can tell of two samples.

    Attributes
    ----------
    people_needed
        Of a mild difference, 8 times in 10, where everybody traces both samples.
    glasses_needed
        The same, glasses of each sample, where nobody traces both.
    """

    people: int
    samples: int
    error: float
    power: tuple[TracePower, ...]
    people_needed: int
    glasses_needed: int

    def said(self) -> Iterator[str]:
        """Give what they can tell, and how many would do."""
        if self.samples > 1:
            mild, strong = (in_100(one.power) for one in self.power)
            pairs = "" if self.samples == 2 else " (of any two of the samples)"
            yield (
                f"Whether two courses differ{pairs} is found by {self.people} people, who trace "
                f"both once: a mild difference in {mild}, a strong one in {strong}; by chance in "
                f"at most {in_100(self.error)}."
            )
        yield (
            f"For 80 in 100 at a mild difference: {self.people_needed} people who trace both "
            f"samples, or {self.glasses_needed} glasses of each where nobody traces both."
        )

    def rows(self) -> Iterable[object]:
        """Give the power by distance."""
        return self.power


def plan_traces(people: int, samples: int = 2) -> TracePlan:
    """Reckon what people can tell of the courses of a note in samples that all of them trace.

    Raises
    ------
    InputError
        Nobody, or no sample.

    Examples
    --------
    >>> found = plan_traces(8)
    >>> found.people_needed, found.glasses_needed, round(found.power[0].power, 2)
    (23, 22, 0.3)
    """
    if people < 1 or samples < 1:
        raise InputError("A trace takes one person and one sample at least.")
    pairs = max(1, samples * (samples - 1) // 2)
    return TracePlan(
        people=people,
        samples=samples,
        error=ERROR,
        power=tuple(
            TracePower(apart, paired_power(people, BESIDE_DELAY * BOTH_TRACED[apart], pairs))
            for apart in CourseFar
        ),
        people_needed=people_needed(pairs),
        glasses_needed=glasses_needed(ONE_TRACED[CourseFar.MILD]),
    )


@cache
def paired_power(
    people: int, distance: float, pairs: int = 1, error: float = COURSE_ERROR
) -> float:
    """Chance that a two-sided t test of differences finds so many sd, one of so many pairs."""
    if people < 3:
        return 0.0
    return _found(people - 1, distance * float(np.sqrt(people)), error / pairs)


def people_needed(
    pairs: int = 1,
    distance: float = BESIDE_DELAY * BOTH_TRACED[CourseFar.MILD],
    error: float = COURSE_ERROR,
) -> int:
    """How many people, who have both samples, find a distance (a mild one) 8 times in 10."""
    fits = (n for n in range(3, MOST_PEOPLE) if paired_power(n, distance, pairs, error) >= ENOUGH)
    return next(fits, MOST_PEOPLE)


@cache
def glasses_needed(distance: float) -> int:
    """How many glasses of each sample find a distance 8 times in 10 where nobody traces both."""
    fits = (
        n
        for n in range(2, MOST_PEOPLE)
        if _found(2 * n - 2, distance * float(np.sqrt(n / 2.0)), ERROR) >= ENOUGH
    )
    return next(fits, MOST_PEOPLE)


def _found(free: int, away: float, error: float) -> float:
    """Chance that a t beyond the two-sided limit comes out, `away` from none."""
    limit = scipy.stats.t.ppf(1 - error / 2, free)
    high = scipy.stats.nct.sf(limit, free, away)
    low = scipy.stats.nct.cdf(-limit, free, away)
    return float(high + np.nan_to_num(low))
