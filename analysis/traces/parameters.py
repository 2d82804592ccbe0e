"""What one trace says: the parameters of ASTM E1909, and the house's two shares of area.

A trace is how strong one note was at a few seconds after the sip, joined by straight lines. It is
cut at 60 s: what lasts longer is "still there". Parameters are averaged, curves never.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Vector
from ..errors import InputError

PROMPTS_S = (0, 5, 10, 20, 30, 45, 60)
"""The seconds after the sip at which a nose is asked."""
SPIT_S = 10
END_S = 60.0
LATEST_S = 75.0
"""An answer later than this tells of no second of the minute, and is left out."""
TOP = 9
POINTS_A_STEP = 100.0 / TOP
"""Keys 0 to 9 in points from 0 to 100."""
ONSET = 5.0
PLATEAU_SHARE = 0.9
HALF = 0.5
LINGER_FROM_S = 30.0
FEWEST_PROMPTS = 5
LAST_FROM_S = 45.0
"""A trace counts with five answers at least, the last one at this second or later."""


@dataclass(frozen=True)
class TraceParameters:
    """Parameters of one trace, in the terms of ASTM E1909; points 0 to 100, seconds, points x s.

    Attributes
    ----------
    i_max, t_max
        Greatest intensity, and when it was first reached.
    onset
        When it first reached 5 points; None: never.
    plateau
        How long it stood at 90 % of the greatest or more.
    auc, auc_before, auc_after
        Area under the curve: whole, before the greatest intensity, from there on.
    duration
        From the onset until it last stood at 5 points.
    rise_rate, fall_rate
        Points a second from the onset to the greatest, and from its end to the last 5 points.
    half_life
        From the end of the greatest intensity until half of it; None: not within the minute.
    still_there
        Whether it stood at 5 points or more at 60 s: then duration is the least it can be.
    burst_share, linger_share
        Share of the area up to 10 s, and from 30 s on.
    """

    i_max: float
    t_max: float
    onset: float | None
    plateau: float
    auc: float
    auc_before: float
    auc_after: float
    duration: float | None
    rise_rate: float | None
    fall_rate: float | None
    half_life: float | None
    still_there: bool
    burst_share: float | None
    linger_share: float | None


def trace_parameters(seconds: Sequence[float], points: Sequence[float]) -> TraceParameters:
    """Return the parameters of one trace.

    Parameters
    ----------
    seconds, points
        When it was said, and how strong it was, 0 to 100; in any order, two or more.

    Raises
    ------
    InputError
        Fewer than two answers, a figure that is none, or seconds below 0.

    Examples
    --------
    >>> found = trace_parameters((0, 5, 10, 20, 60), (0, 60, 60, 30, 0))
    >>> found.auc, found.i_max, found.t_max, found.plateau, found.half_life, found.burst_share
    (1500.0, 60.0, 5.0, 7.5, 10.0, 0.3)
    """
    t, y = _cut(seconds, points)
    top = float(y.max())
    at_top = np.flatnonzero(y == top)
    first, last = float(t[at_top[0]]), float(t[at_top[-1]])
    whole = _area(t, y, 0.0, END_S)
    onset, gone = _first_above(t, y, ONSET), _last_above(t, y, ONSET)
    still = bool(y[-1] >= ONSET)
    return TraceParameters(
        i_max=top,
        t_max=first,
        onset=onset,
        plateau=_time_above(t, y, PLATEAU_SHARE * top) if top > 0 else 0.0,
        auc=whole,
        auc_before=_area(t, y, 0.0, first),
        auc_after=_area(t, y, first, END_S),
        duration=None if onset is None or gone is None else gone - onset,
        rise_rate=_rate(top, onset, first),
        fall_rate=None if still else _rate(top, last, gone),
        half_life=_half_life(t, y, top, last),
        still_there=still,
        burst_share=_area(t, y, 0.0, SPIT_S) / whole if whole > 0 else None,
        linger_share=_area(t, y, LINGER_FROM_S, END_S) / whole if whole > 0 else None,
    )


def counts(seconds: Sequence[float]) -> bool:
    """Say whether enough prompts of a glass were answered in time for it to count."""
    in_time = [second for second in seconds if second <= LATEST_S]
    return len(in_time) >= FEWEST_PROMPTS and max(in_time) >= LAST_FROM_S


def checked(seconds: Sequence[float], points: Sequence[float]) -> tuple[Vector, Vector]:
    """Return a trace in the order of its seconds; of two at one second the later one counts.

    Raises
    ------
    InputError
        As `trace_parameters`.
    """
    if len(seconds) != len(points):
        raise InputError("A trace has one intensity for each second.")
    if not all(map(math.isfinite, (*seconds, *points))) or min(seconds, default=0.0) < 0:
        raise InputError("Seconds of a trace are numbers from 0 up, intensities numbers.")
    by_second = dict(sorted(zip(seconds, points, strict=True), key=lambda each: each[0]))
    kept = [(t, y) for t, y in by_second.items() if t <= LATEST_S]
    if len(kept) < 2:
        raise InputError("A trace takes two answers in time at least.")
    return np.array([t for t, _ in kept], float), np.array([y for _, y in kept], float)


def _cut(seconds: Sequence[float], points: Sequence[float]) -> tuple[Vector, Vector]:
    """Return the trace from 0 to 60 s; ends that nobody answered are as the answer beside them."""
    t, y = checked(seconds, points)
    ends = np.array([0.0, END_S])
    every = np.union1d(t[t < END_S], ends)
    return every, np.interp(every, t, y)


def _area(t: Vector, y: Vector, low: float, high: float) -> float:
    if high <= low:
        return 0.0
    inside = np.union1d(t[(t > low) & (t < high)], np.array([low, high]))
    return float(np.trapezoid(np.interp(inside, t, y), inside))


def _crossing(t: Vector, y: Vector, step: int, level: float) -> float:
    rise = y[step + 1] - y[step]
    return float(t[step] + (level - y[step]) / rise * (t[step + 1] - t[step]))


def _first_above(t: Vector, y: Vector, level: float) -> float | None:
    above = np.flatnonzero(y >= level)
    if not len(above):
        return None
    return float(t[0]) if above[0] == 0 else _crossing(t, y, int(above[0]) - 1, level)


def _last_above(t: Vector, y: Vector, level: float) -> float | None:
    above = np.flatnonzero(y >= level)
    if not len(above):
        return None
    last = int(above[-1])
    return float(t[-1]) if last == len(t) - 1 else _crossing(t, y, last, level)


def _time_above(t: Vector, y: Vector, level: float) -> float:
    total = 0.0
    for step in range(len(t) - 1):
        length = float(t[step + 1] - t[step])
        start, end = float(y[step]), float(y[step + 1])
        if min(start, end) >= level:
            total += length
        elif max(start, end) >= level:
            total += length * (max(start, end) - level) / abs(end - start)
    return total


def _half_life(t: Vector, y: Vector, top: float, last: float) -> float | None:
    below = np.flatnonzero((t > last) & (y <= HALF * top))
    if top <= 0 or not len(below):
        return None
    return _crossing(t, y, int(below[0]) - 1, HALF * top) - last


def _rate(top: float, start: float | None, end: float | None) -> float | None:
    """Return points a second between 5 points and the greatest; None where no time passed."""
    if start is None or end is None or end <= start or top <= ONSET:
        return None
    return (top - ONSET) / (end - start)
