"""A trace as a burst and a linger: least squares on two fixed shapes, both at or above 0.

The share of the linger, L / (L + B), does not move where only the amount of a note doubles, and
tells a mild difference in course with 26 glasses a sample. Both were measured on made-up traces
(`tests/bench/bench_traces.py`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Matrix, Vector
from .parameters import END_S, checked

LAG_S = 2.0
"""From sip to first perception; the same for everybody."""
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


def shapes(seconds: Vector) -> Matrix:
    """Return both shapes at seconds after the sip: rows seconds, columns burst and linger."""
    since = np.asarray(seconds, float) - LAG_S
    return np.stack([burst_shape(since), linger_shape(since)], axis=1)


def course_of(seconds: Sequence[float], points: Sequence[float]) -> Course:
    """Return the burst and the linger of one trace.

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
    burst, linger = courses(shapes(t), y[None, :])[0]
    return Course(float(burst), float(linger))


def courses(at: Matrix, points: Matrix) -> Matrix:
    """Return burst and linger of traces that were answered at the same seconds, one a row.

    `at` are the shapes there, `points` the traces. Where least squares would have one below 0, the
    other is fitted alone.
    """
    free = np.linalg.lstsq(at, points.T, rcond=None)[0].T
    alone = np.maximum(points @ at / np.sum(at * at, axis=0), 0.0)
    burst_alone = np.stack([alone[:, 0], np.zeros(len(points))], axis=1)
    linger_alone = np.stack([np.zeros(len(points)), alone[:, 1]], axis=1)
    found = np.where(free[:, :1] < 0, linger_alone, np.where(free[:, 1:] < 0, burst_alone, free))
    return np.asarray(np.maximum(found, 0.0))
