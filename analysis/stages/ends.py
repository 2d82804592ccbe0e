"""Where an end of the line could make samples differ in course that differ in amount alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..traces.keys import AS_STRONG, BentBy, Ends

TOP = 95.0
"""Points from which on a glass is near the end of the line."""
AT_TOP_MOST = 0.1
"""Share of glasses near the end from which on more of a note looks like another course."""
LOW = 15.0
"""Points of arrival or finish, by the panel's mean: below, what is added tells of the ratio."""


@dataclass(frozen=True)
class EndsOf:
    """How one sample stands to the ends of the line: means in points, glasses near the top of those
    scored at arrival and in the finish."""

    sample: str
    arrival: float
    finish: float
    greatest: float
    n_at_top: int
    n_scored: int


def at_top(greatest: Sequence[float | None]) -> int:
    """Return how many glasses stand near the end of the line, by the greater of both scores."""
    return sum(one is not None and one >= TOP for one in greatest)


def stages_bent_by(one: EndsOf, other: EndsOf) -> BentBy | None:
    """Say which end of the line could make two samples differ that only differ in amount.

    Measured by `bench_words stages-apart-twice`.
    """
    top = max((one, other), key=_share_at_top)
    if _share_at_top(top) > AT_TOP_MOST:
        return BentBy(Ends.AT_TOP, top.sample, top.n_at_top, top.n_scored)
    faint, strong = sorted((one, other), key=lambda each: each.greatest)
    if strong.greatest > AS_STRONG * faint.greatest and min(faint.arrival, faint.finish) < LOW:
        return BentBy(Ends.AT_0, faint.sample, 0, faint.n_scored)
    return None


def _share_at_top(one: EndsOf) -> float:
    return one.n_at_top / one.n_scored if one.n_scored else 0.0
