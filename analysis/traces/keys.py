"""What the keys of a sample say without any model: what is gone and when, and where the line ends.

The burst and the linger are fitted to two fixed shapes, and a course may have neither. So a word on
a course wants the keys to agree; and where keys stand at 0 or at 9, which are the ends of what can
be said, an amount alone bends the course.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from .parameters import HALF, checked

HALF_GONE_S, HALF_LEFT_S = 30.0, 45.0
"""A burst stands below half of its greatest by the first, a linger still at half by the second."""
AT_0_FROM_S = 10.0
"""Before, a key of 0 is a nose that has not perceived it yet."""
TOP_POINTS = 99.0
FAINT, AT_0_MANY = 45.0, 0.2
"""A mean greatest below so many points, with more than this share of keys at 0: what is below the
least that a nose keys is a good part of such a note, and it would seem to burst."""
AT_TOP_MOST, AT_0_MOST, AS_STRONG = 0.4, 0.1, 1.25
"""Glasses that reach 9; keys at 0 of the fainter sample where the greatest of the other is so many
times as strong. Beyond, a pair is not compared. All measured by `bench_words bursts apart`."""


@dataclass(frozen=True)
class KeysOfTrace:
    """Keys of one trace: shares of its greatest at 30 and 45 s (None: all at 0), and the ends."""

    at_half_gone_s: float | None
    at_half_left_s: float | None
    n_keys: int
    n_at_0: int
    at_top: bool


@dataclass(frozen=True)
class KeysFound:
    """Keys of one sample.

    Attributes
    ----------
    n_people
        Who perceived the note.
    n_half_gone, n_half_left
        Of these, below half of their greatest at 30 s, and at half of it or more at 45 s.
    n_keys, n_at_0
        Answers from 10 s on, and how many of them stood at 0.
    n_at_top, n_traces
        Traces that reach 9, of all.
    greatest
        Mean over assessors of the greatest, points.
    """

    n_people: int
    n_half_gone: int
    n_half_left: int
    n_keys: int
    n_at_0: int
    n_at_top: int
    n_traces: int
    greatest: float

    @property
    def bursts(self) -> bool:
        """Whether most stand below half of their greatest at 30 s."""
        return self.n_half_gone > HALF * self.n_people

    @property
    def lingers(self) -> bool:
        """Whether most still stand at half of their greatest or more at 45 s."""
        return self.n_half_left > HALF * self.n_people

    @property
    def faint(self) -> bool:
        """Whether too much of the note is below what noses key."""
        return self.greatest < FAINT and self.n_at_0 > AT_0_MANY * self.n_keys


class Ends(StrEnum):
    """Which end of the keys bends the courses of two samples."""

    AT_0 = "0"
    AT_TOP = "9"


@dataclass(frozen=True)
class BentBy:
    """A sample whose keys stood at an end of the line: in `n` of `of` answers, or glasses at 9."""

    end: Ends
    sample: str
    n: int
    of: int


def keys_of(seconds: Sequence[float], points: Sequence[float]) -> KeysOfTrace:
    """Return what the keys of one trace say, points 0 to 100.

    Raises
    ------
    InputError
        As `trace_parameters`.

    Examples
    --------
    >>> keys_of((0, 5, 10, 20, 30, 45, 60), (0, 80, 60, 40, 20, 0, 0))
    KeysOfTrace(at_half_gone_s=0.25, at_half_left_s=0.0, n_keys=5, n_at_0=2, at_top=False)
    """
    t, y = checked(list(seconds), list(points))
    top, late = float(y.max()), y[t >= AT_0_FROM_S]
    gone, left = (float(np.interp(at, t, y)) for at in (HALF_GONE_S, HALF_LEFT_S))
    return KeysOfTrace(
        gone / top if top > 0 else None,
        left / top if top > 0 else None,
        len(late),
        int((late == 0).sum()),
        top >= TOP_POINTS,
    )


def bent_by(first: str, one: KeysFound, second: str, other: KeysFound) -> BentBy | None:
    """Say which end of the keys could make two samples differ that only differ in amount."""
    at_top = max(((one, first), (other, second)), key=lambda each: _share_at_top(each[0]))
    if _share_at_top(at_top[0]) > AT_TOP_MOST:
        return BentBy(Ends.AT_TOP, at_top[1], at_top[0].n_at_top, at_top[0].n_traces)
    ordered = sorted(((one, first), (other, second)), key=lambda each: each[0].greatest)
    (faint, name), (strong, _) = ordered
    unlike = strong.greatest > AS_STRONG * faint.greatest
    if unlike and faint.n_at_0 > AT_0_MOST * faint.n_keys:
        return BentBy(Ends.AT_0, name, faint.n_at_0, faint.n_keys)
    return None


def _share_at_top(keys: KeysFound) -> float:
    return keys.n_at_top / keys.n_traces if keys.n_traces else 0.0
