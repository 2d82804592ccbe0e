"""Made-up traces and stage scores in which the course is known.

People differ in how strongly and how soon they perceive, in how they use the line and in the shape
of what they perceive (`wobble`); what they say wanders, and comes in whole keys from 0 to 9.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.array_types import Matrix, Vector
from analysis.traces.components import (
    BURST_FADES_S,
    BURST_PEAK_S,
    LINGER_DECAY_S,
    LINGER_RISE_S,
    courses,
    lag_of,
    shapes,
)
from analysis.traces.parameters import POINTS_A_STEP, PROMPTS_S, TOP

SECONDS = np.array(PROMPTS_S, float)
FINE = np.linspace(0.0, 60.0, 241)
TOP_OF_LINGER = float(((1 - np.exp(-FINE / LINGER_RISE_S)) * np.exp(-FINE / LINGER_DECAY_S)).max())
MILD = ((40.0, 25.0), (30.0, 35.0))
STRONG = ((45.0, 15.0), (20.0, 40.0))
TWICE = ((20.0, 15.0), (40.0, 30.0))
"""Burst and linger of two samples: a mild and a strong difference in course, and none."""


@dataclass(frozen=True)
class Glasses:
    """Traces of a sample, one a row, with stage scores of the same glasses."""

    points: Matrix
    arrival: Vector
    finish: Vector

    def linger_part(self, lags: Vector) -> Vector:
        """L / (L + B) of each by these lags; .5 where nothing was perceived."""
        found = np.empty((len(self.points), 2))
        for lag in np.unique(lags):
            mine = lags == lag
            found[mine] = courses(shapes(SECONDS, float(lag)), self.points[mine])
        whole = found.sum(axis=1)
        return np.where(whole > 0, found[:, 1] / np.where(whole > 0, whole, 1.0), 0.5)


def lags_of(*traced: Glasses) -> Vector:
    """Return the lag of each person by all their traces, as a session takes it."""
    seconds = SECONDS.tolist()
    return np.array(
        [
            lag_of([(seconds, own.tolist()) for own in each])
            for each in zip(*(one.points for one in traced), strict=True)
        ]
    )


@dataclass(frozen=True)
class People:
    """How each of some people perceives and scores, the same in all their glasses."""

    gain: Vector
    lag: Vector
    halo: Vector
    peak: Vector
    rise: Vector
    decay: Vector


def people(
    n: int, rng: np.random.Generator, wobble: float, lag: tuple[float, float] = (2.0, 2.0)
) -> People:
    """Draw people; `lag` is the mean and the sd of the seconds from sip to first perception."""
    gain, lags = np.exp(rng.normal(0, 0.3, n)), rng.normal(*lag, n)
    halo = rng.normal(0, 6, n)
    peak, rise, decay = (
        usual * np.exp(rng.normal(0, wobble, n))
        for usual in (BURST_PEAK_S, LINGER_RISE_S, LINGER_DECAY_S)
    )
    return People(gain, lags, halo, peak, rise, decay)


def glasses(
    course: tuple[float, float],
    who: People,
    rng: np.random.Generator,
    noise: float = 8.0,
    *,
    again: float = 0.0,
    least: float = 0.0,
) -> Glasses:
    """Draw a glass of each person: how it is perceived, what is said of it, and stage scores.

    By `again` the seconds of one person are stretched from glass to glass; below `least` points, a
    little otherwise for each, a nose keys 0.
    """
    n, (burst, linger) = len(who.gain), course
    stretch = np.exp(rng.normal(0, again, n))[:, None] if again else 1.0
    off = rng.normal(0, 8, n)

    def perceived(seconds: Matrix) -> Matrix:
        t = np.maximum(seconds, 0.0)
        x = t / who.peak[:, None]
        first = x * np.exp(1 - x) * np.exp(-np.maximum(t - who.peak[:, None], 0) / BURST_FADES_S)
        second = (1 - np.exp(-t / who.rise[:, None])) * np.exp(-t / who.decay[:, None])
        return np.asarray(who.gain[:, None] * (burst * first + linger * second / TOP_OF_LINGER))

    said = perceived((SECONDS[None, :] - who.lag[:, None]) / stretch)
    error = np.zeros(said.shape)
    error[:, 0] = rng.normal(size=n)
    for at in range(1, said.shape[1]):
        error[:, at] = 0.5 * error[:, at - 1] + np.sqrt(0.75) * rng.normal(size=n)
    level = np.where(said > 1, 1.0, 0.2)
    said = said + level * ((who.halo + 0.5 * off)[:, None] + noise * error)
    if least:
        said = np.where(said < least * np.exp(rng.normal(0, 0.3, n))[:, None], 0.0, said)
    said = np.clip(np.round(said / POINTS_A_STEP), 0, TOP) * POINTS_A_STEP
    fine = perceived(np.broadcast_to(FINE, (n, len(FINE))))

    def stage(low: float, high: float) -> Vector:
        mean = fine[:, (low <= FINE) & (high >= FINE)].mean(axis=1)
        return np.asarray(
            np.clip(np.round(mean + off + who.halo + noise * rng.normal(size=n)), 0, 100)
        )

    return Glasses(said, stage(2, 10), stage(30, 60))
