"""Rows: a note bursts or lingers in a sample, and takes another course in one than in another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analysis.array_types import Vector
from analysis.traces import CourseWord, TraceWord
from analysis.traces.assess import mean_over_people
from analysis.traces.plan import COURSE_ERROR, people_needed
from analysis.traces.verdict import course_verdict, trace_verdict
from tests.bench.trace_worlds import MILD, STRONG, TWICE, glasses, people
from tests.bench.word_rates import Row

BURSTS, LINGERS, APART = "bursts (trace)", "lingers (trace)", "differ in course (trace)"
_RULE = (
    "burst and linger fitted to each trace by least squares on two fixed shapes, neither below 0; "
    "the mean of L / (L + B) over assessors has its whole t interval (95 in 100) "
)
RULES = {
    BURSTS: f"{_RULE}below .5; equal parts come out near .55",
    LINGERS: f"{_RULE}above .6",
    APART: "the mean difference of L / (L + B) over those who traced both has a t interval (96 in "
    "100) without 0; with more than two samples the intervals of all pairs hold together",
}
_ASKED = 0.05
EVEN = (30.0, 30.0)
WOBBLE = 0.3


@dataclass(frozen=True)
class Minute:
    """A session in which people trace one or two samples, of so much burst and linger each."""

    first: tuple[float, float]
    second: tuple[float, float]
    people: int
    wobble: float = WOBBLE

    def __call__(self, seed: int) -> tuple[TraceWord, CourseWord]:
        """Draw a session; return the word on its first sample, and that on both."""
        rng = np.random.default_rng([seed, 41])
        who = people(self.people, rng, self.wobble)
        one, other = (glasses(course, who, rng).linger_part for course in (self.first, self.second))
        found = mean_over_people(_by_person(one))
        word = trace_verdict("it", "x", found, self.people).word
        apart = mean_over_people(_by_person(other - one), COURSE_ERROR)
        interval = (
            None
            if apart.mean is None or apart.low is None or apart.high is None
            else (apart.mean, apart.low, apart.high)
        )
        both = course_verdict("it", "x", "y", self.people, interval, people_needed())
        return word, both.word


def _by_person(values: Vector) -> dict[str, float]:
    return {str(n): float(value) for n, value in enumerate(values)}


def bursts(found: tuple[TraceWord, CourseWord]) -> Iterator[bool]:
    """Whether the note is said to burst."""
    yield found[0] is TraceWord.BURSTS


def lingers(found: tuple[TraceWord, CourseWord]) -> Iterator[bool]:
    """Whether it is said to linger."""
    yield found[0] is TraceWord.LINGERS


def apart(found: tuple[TraceWord, CourseWord]) -> Iterator[bool]:
    """Whether two samples are said to differ in course."""
    yield found[1] is CourseWord.DIFFER


def rows() -> Iterator[Row]:
    """All rows on traces."""
    for n in (8, 16):
        for name, sentence, read in (("bursts", BURSTS, bursts), ("lingers", LINGERS, lingers)):
            where = f"as much burst as linger; {n} people, their shapes wobble"
            yield Row(
                *(f"{name}-even-{n}", sentence, where, _ASKED, True),
                *(Minute(EVEN, EVEN, n), read),
            )
        yield Row(
            *(f"bursts-strong-{n}", BURSTS, f"45 burst, 15 linger; {n} people", None, False),
            *(Minute(*STRONG, n), bursts),
        )
        yield Row(
            *(f"lingers-strong-{n}", LINGERS, f"20 burst, 40 linger; {n} people", None, False),
            *(Minute(STRONG[1], STRONG[0], n), lingers),
        )
        yield Row(
            *(f"apart-same-{n}", APART, f"the same sample twice; {n} people", _ASKED, True),
            *(Minute(EVEN, EVEN, n), apart),
        )
        yield Row(
            *(f"apart-twice-{n}", APART, f"only twice as much of it; {n} people", _ASKED, True),
            *(Minute(*TWICE, n), apart),
        )
        for name, pair in (("mild", MILD), ("strong", STRONG)):
            yield Row(
                *(f"apart-{name}-{n}", APART, f"a {name} difference; {n} people", None, False),
                *(Minute(*pair, n), apart),
            )
