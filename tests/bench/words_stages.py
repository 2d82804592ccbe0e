"""Rows: a note by stages bursts or lingers in a sample, and takes another course in one of two."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analysis.array_types import Vector
from analysis.stages.ends import EndsOf, at_top, stages_bent_by
from analysis.stages.index import log_ratios
from analysis.stages.plan import STAGE_ERROR, stage_people_needed
from analysis.stages.verdict import apart_verdict, is_faint, stages_verdict
from analysis.traces import CourseWord, TraceWord
from analysis.traces.assess import mean_over_people
from tests.bench.trace_worlds import MILD, STRONG, TWICE, Glasses, glasses, people
from tests.bench.word_rates import Row
from tests.bench.words_traces import WOBBLE, apart, bursts, lingers

BURSTS, LINGERS, APART = "bursts (stages)", "lingers (stages)", "differ in course (stages)"
_RULE = (
    "the mean over assessors of the log of (finish + 5) to (arrival + 5) has its whole t interval "
    "(95 in 100) "
)
_ENOUGH = "; the note reaches 20 points on arrival or in the finish"
RULES = {
    BURSTS: f"{_RULE}below a finish of .55 of the arrival{_ENOUGH}; as much burst as linger comes "
    "out at .59 to .66",
    LINGERS: f"{_RULE}above a finish of .65 of the arrival{_ENOUGH}",
    APART: "the mean difference of that log ratio over those who scored both has a t interval "
    f"(97.5 in 100) without 0, in both samples{_ENOUGH}, and neither stands at an end "
    "of the line; the intervals of all pairs and notes of a "
    "session hold together",
}
_ASKED = 0.05
EVENS = {"": (30.0, 30.0), "-faint": (16.0, 16.0), "-strong": (60.0, 60.0)}
FAINT_TWICE = ((12.0, 9.0), (24.0, 18.0))
NEAR_ENDS = {
    "low-finish": ((30.0, 5.0), (60.0, 10.0)),
    "no-finish": ((30.0, 0.0), (60.0, 0.0)),
    "to-top": ((40.0, 40.0), (80.0, 80.0)),
    "past-top": ((50.0, 50.0), (100.0, 100.0)),
}
"""Only twice as much of it, where a score lies near an end of the line."""


@dataclass(frozen=True)
class Stage4:
    """A session in which people score one or two samples by stages, each with a known course."""

    first: tuple[float, float]
    second: tuple[float, float]
    people: int

    def __call__(self, seed: int) -> tuple[TraceWord, CourseWord]:
        """Draw a session; return the word on its first sample, and that on both."""
        rng = np.random.default_rng([seed, 47])
        who = people(self.people, rng, WOBBLE)
        both = [glasses(course, who, rng) for course in (self.first, self.second)]
        one, other = (_ratios(each) for each in both)
        found = mean_over_people(one)
        word = stages_verdict("it", "x", found, self.people, _greatest(both[0])).word
        faint = tuple("x" for each in both if is_faint(_greatest(each)))
        difference = {n: other[n] - one[n] for n in one if n in other}
        apart_by = mean_over_people(difference, STAGE_ERROR)
        bent = stages_bent_by(*map(_ends, both))
        said = apart_verdict("it", ("x", "y"), apart_by, stage_people_needed(), faint, bent)
        return word, said.word


def _ends(found: Glasses) -> EndsOf:
    top = [float(one) for one in _top(found)]
    means = float(found.arrival.mean()), float(found.finish.mean())
    return EndsOf("x", *means, _greatest(found), at_top(top), len(top))


def _ratios(found: Glasses) -> dict[str, float]:
    """Return the log ratio of each person who perceived the note at all."""
    ratios = log_ratios(found.arrival, found.finish)
    there = _top(found) > 0
    return {str(n): float(ratios[n]) for n in range(len(ratios)) if there[n]}


def _top(found: Glasses) -> Vector:
    return np.maximum(found.arrival, found.finish)


def _greatest(found: Glasses) -> float:
    return float(_top(found).mean())


def rows() -> Iterator[Row]:
    """All rows on stages."""
    for n in (8, 16):
        for name, word, read in (("bursts", BURSTS, bursts), ("lingers", LINGERS, lingers)):
            for how, even in EVENS.items():
                where = f"as much burst as linger, {even[0]:g} each; {n} people"
                yield Row(
                    *(f"stages-{name}-even{how}-{n}", word, where, _ASKED, True),
                    *(Stage4(even, even, n), read),
                )
        yield Row(
            *(f"stages-bursts-{n}", BURSTS, f"45 burst, 15 linger; {n} people", None, False),
            *(Stage4(*STRONG, n), bursts),
        )
        yield Row(
            *(f"stages-lingers-{n}", LINGERS, f"20 burst, 40 linger; {n} people", None, False),
            *(Stage4(STRONG[1], STRONG[0], n), lingers),
        )
        same = (EVENS[""], EVENS[""])
        for name, pair, where in (
            ("same", same, "the same sample twice"),
            ("twice", TWICE, "only twice as much of it"),
            ("twice-faint", FAINT_TWICE, "only twice as much, of little"),
            *(
                (
                    f"twice-{how}",
                    pair,
                    f"only twice as much, burst and linger {pair[0]} to {pair[1]}",
                )
                for how, pair in NEAR_ENDS.items()
            ),
        ):
            yield Row(
                *(f"stages-apart-{name}-{n}", APART, f"{where}; {n} people", _ASKED, True),
                *(Stage4(*pair, n), apart),
            )
        for name, pair in (("mild", MILD), ("strong", STRONG)):
            where = f"a {name} difference; {n} people"
            yield Row(
                *(f"stages-apart-{name}-{n}", APART, where, None, False),
                *(Stage4(*pair, n), apart),
            )
