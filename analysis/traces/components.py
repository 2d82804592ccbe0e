"""A trace as a burst and a linger: least squares on two fixed shapes, both at or above 0.

The share of the linger, L / (L + B), does not move where only the amount of a note doubles, and
tells a mild difference in course with 26 glasses a sample. Both were measured on made-up traces
(`tests/bench/bench_traces.py`).

Both shapes begin some seconds after the sip. That lag is each person's own, and it is found from
all the traces of theirs in a session: were it taken for 2 s, a panel that perceives or answers some
seconds later would seem to have more of a linger in everything. Where two samples are compared, one
may be perceived later than the other by everybody, and would seem to linger more: `delay_between`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..array_types import Matrix, Vector
from .parameters import END_S, checked

LAG_S = 2.0
"""From sip to first perception, where no trace tells it."""
LAGS_S = tuple(step / 2 for step in range(17))
"""Lags that are tried, 0 to 8 s. Later than that the first prompts say nothing of a burst."""
MOST_DELAY_STEPS = 40
DELAY_STEPS = sorted(range(-MOST_DELAY_STEPS, MOST_DELAY_STEPS + 1), key=abs)
"""Steps of half a second by which a sample may be perceived after another, the nearest first."""
MOST_DELAY_S = MOST_DELAY_STEPS / 2
"""Of what comes later still, keys at 30, 45 and 60 s alone would have to tell course and delay."""
TOLD_DELAY_S = 2.5
"""Beside a longer delay no course is told: one of 5 s made a difference of one course in 9 of 100
sessions of 16 people, and where courses differ and nothing is late, less is found
(`bench_words apart-later apart-mild apart-strong`)."""
LATE_LAGS_S = tuple(step / 2 for step in range(len(LAGS_S) + MOST_DELAY_STEPS))
"""Lags of the later of two samples: that of a person and the delay."""
Trace = tuple[Sequence[float], Sequence[float]]
"""Seconds after the sip, and points."""
BURST_PEAK_S, BURST_FADES_S = 6.0, 60.0
LINGER_RISE_S, LINGER_DECAY_S = 12.0, 70.0


@dataclass(frozen=True)
class Course:
    """How strong the burst and the linger of one trace are, in points at their peaks."""

    burst: float
    linger: float

    @property
    def linger_part(self) -> float | None:
        """L / (L + B), 0 a burst alone and 1 a linger alone; None where nothing was perceived."""
        whole = self.burst + self.linger
        return self.linger / whole if whole > 0 else None


def burst_shape(seconds: Vector) -> Vector:
    """Return the burst at seconds since the note was first perceived: peaks near 6 s."""
    x = np.maximum(seconds, 0.0) / BURST_PEAK_S
    fades = np.exp(-np.maximum(seconds - BURST_PEAK_S, 0.0) / BURST_FADES_S)
    return np.asarray(x * np.exp(1.0 - x) * fades)


def linger_shape(seconds: Vector) -> Vector:
    """Return the linger at seconds since then: rises at 12 s, decays at 70 s, peaks at 1."""
    return _linger(np.maximum(seconds, 0.0)) / _LINGER_TOP


def _linger(seconds: Vector) -> Vector:
    return np.asarray((1.0 - np.exp(-seconds / LINGER_RISE_S)) * np.exp(-seconds / LINGER_DECAY_S))


_LINGER_TOP = float(_linger(np.linspace(0.0, END_S, 241)).max())


def shapes(seconds: Vector, lag_s: float = LAG_S) -> Matrix:
    """Return both shapes at seconds after the sip: rows seconds, columns burst and linger."""
    since = np.asarray(seconds, float) - lag_s
    return np.stack([burst_shape(since), linger_shape(since)], axis=1)


def course_of(
    seconds: Sequence[float], points: Sequence[float], lag_s: float | None = None
) -> Course:
    """Return the burst and the linger of one trace.

    `lag_s` is from the sip to what is first perceived; None: that which fits this trace best.

    Raises
    ------
    InputError
        As `trace_parameters`.

    Examples
    --------
    >>> t = np.array((0, 5, 10, 20, 30, 45, 60), float)
    >>> found = course_of(t, shapes(t) @ (40.0, 25.0))
    >>> round(found.burst, 6), round(found.linger, 6), round(found.linger_part, 3)
    (40.0, 25.0, 0.385)
    """
    t, y = checked(list(seconds), list(points))
    lag = lag_of([(seconds, points)]) if lag_s is None else lag_s
    burst, linger = courses(shapes(t, lag), y[None, :])[0]
    return Course(float(burst), float(linger))


def lag_of(traces: Sequence[Trace]) -> float:
    """Return the lag in seconds that fits all of one person's traces best.

    Each trace, seconds and points, counts as a share of its own greatest, so that a faint note
    tells the lag as well as a strong one. `LAG_S` where nothing was perceived in any.

    Raises
    ------
    InputError
        As `trace_parameters`.
    """
    misfit = _misfit_of(traces, LAGS_S)
    return LAG_S if misfit is None else LAGS_S[int(misfit.argmin())]


@dataclass(frozen=True)
class Delay:
    """By how many seconds one sample is perceived after another, and each person's lag in both."""

    seconds: float
    lags: tuple[tuple[float, float], ...]


def delay_between(traces: Sequence[tuple[Sequence[Trace], Sequence[Trace]]]) -> Delay:
    """Return by how much later than the first all perceive the second of two samples.

    `traces` holds of each person those of the first sample and those of the second. One delay is
    fitted for all of them, beside a lag of each person in whichever is perceived first.

    Raises
    ------
    InputError
        As `trace_parameters`.
    """
    still = np.zeros(len(LATE_LAGS_S))
    both = [[_misfit_of(own, LATE_LAGS_S) for own in each] for each in traces]
    first, second = (
        np.array([still if each[at] is None else each[at] for each in both]) for at in (0, 1)
    )
    found = {step: _together(first, second, step) for step in DELAY_STEPS}
    best = min(DELAY_STEPS, key=lambda step: float(found[step].min(axis=1).sum()))
    at = found[best].argmin(axis=1) + max(0, -best)
    lags = tuple((LATE_LAGS_S[place], LATE_LAGS_S[place + best]) for place in at.tolist())
    return Delay(best / 2, lags)


def _together(first: Matrix, second: Matrix, step: int) -> Matrix:
    """Return the misfit of each person by the lag of the first, the second so many steps later."""
    low = max(0, -step)
    high = low + len(LAGS_S)
    return np.asarray(first[:, low:high] + second[:, low + step : high + step])


def _misfit_of(traces: Sequence[Trace], lags: tuple[float, ...]) -> Vector | None:
    """Return the misfit of traces together by lag; None where nothing was perceived in any."""
    told = []
    for seconds, points in traces:
        t, y = checked(list(seconds), list(points))
        if y.max() > 0:
            told.append(_misfits(tuple(t.tolist()), y / y.max(), lags))
    return np.sum(told, axis=0) if told else None


def _misfits(seconds: tuple[float, ...], shares: Vector, lags: tuple[float, ...]) -> Vector:
    """Return the squared distance of a trace from its best course, by lag."""
    at, inverse = _by_lag(seconds, lags)
    squares = np.sum(at * at, axis=1)
    along = np.einsum("lsc,s->lc", at, shares)
    alone = np.divide(along, squares, out=np.zeros_like(along), where=squares > 0)
    found = _not_below_0(inverse @ shares, alone)
    return np.asarray(np.sum((shares - np.einsum("lsc,lc->ls", at, found)) ** 2, axis=1))


@lru_cache(maxsize=512)
def _by_lag(seconds: tuple[float, ...], lags: tuple[float, ...]) -> tuple[Matrix, Matrix]:
    """Return the shapes at seconds and their inverse, each by lag."""
    at = np.stack([shapes(np.array(seconds), lag) for lag in lags])
    return at, np.asarray(np.linalg.pinv(at), float)


def courses(at: Matrix, points: Matrix) -> Matrix:
    """Return burst and linger of traces that were answered at the same seconds, one a row.

    `at` are the shapes there, `points` the traces. Where least squares would have one below 0, the
    other is fitted alone.
    """
    free = np.linalg.lstsq(at, points.T, rcond=None)[0].T
    return _not_below_0(np.asarray(free, float), points @ at / np.sum(at * at, axis=0))


def _not_below_0(free: Matrix, alone: Matrix) -> Matrix:
    """Return both where neither is below 0, else one alone; columns burst and linger."""
    one = np.maximum(alone, 0.0)
    burst, linger = one * (1.0, 0.0), one * (0.0, 1.0)
    found = np.where(free[:, :1] < 0, linger, np.where(free[:, 1:] < 0, burst, free))
    return np.asarray(np.maximum(found, 0.0))
