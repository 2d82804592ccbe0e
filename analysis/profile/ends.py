"""Scores at the ends of the line: a zero says no more than "below what I would write down".

Of a note that many glasses lack, zeros are no measurements: a person who smells next to nothing
writes 0 whether there is a trace or not a trace. Taken at their word they make everybody look
steady and every faint sample sure. So a note with enough of them is read otherwise:

* `Reading.BELOW`: 5 to 90 in 100 scores at an end and twelve or more within. A zero of assessor j
  says ``y* < c_j``, with ``c_j`` half a step under the least score that j ever wrote above it; a
  score at the upper end says that ``y*`` is over it (Tobin 1958). See `sites`.
* `Reading.FOUND`: more zeros, or fewer scores within. All there is to say is in how many of its
  glasses a sample was found, and how much it was then. See `found`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ..array_types import Codes, Flags, Vector

LOW_END, HIGH_END = 0.0, 100.0
_FROM, _MOST, _FEWEST_WITHIN = 0.05, 0.9, 12
_LARGEST_STEP = 10.0
"""Points: a coarser line than one of ten steps is not in use, and a cut above it says nothing."""
_SCORES_TO_TELL = 5
"""Scores above 0 from which the least of them tells where an assessor starts to write."""


class ReadAs(StrEnum):
    """How the scores of a note are read."""

    AS_WRITTEN = "as_written"
    BELOW = "below_what_is_written"
    FOUND = "found_or_not"

    @classmethod
    def of(cls, y: Vector) -> ReadAs:
        """Choose by how many of the scores lie at an end of the line.

        Examples
        --------
        >>> import numpy as np
        >>> some = np.arange(1.0, 21.0)
        >>> [ReadAs.of(np.append(some, np.zeros(n))).name for n in (1, 20, 200)]
        ['AS_WRITTEN', 'BELOW', 'FOUND']
        """
        low, within = float(np.mean(y <= LOW_END)), _within(y)
        at_an_end = 1.0 - float(np.mean(within))
        if low > _MOST or (at_an_end >= _FROM and np.sum(within) < _FEWEST_WITHIN):
            return cls.FOUND
        return cls.BELOW if at_an_end >= _FROM else cls.AS_WRITTEN


@dataclass(frozen=True)
class Ends:
    """Where the line ends for each glass and each assessor.

    Attributes
    ----------
    rows
        Glasses at an end.
    cut
        Beyond which each of these lies.
    sign
        1 where it lies below, -1 where it lies above.
    within
        Whether a glass lies within the line.
    written
        Below which each assessor writes 0.
    step
        Of the line.
    """

    rows: Codes
    cut: Vector
    sign: Vector
    within: Flags
    written: Vector
    step: float

    @classmethod
    def of(cls, y: Vector, assessor: Codes) -> Ends:
        """Where the line ends for these scores."""
        step = step_of(y)
        written = least_written(y, assessor, step)
        low, within = y <= LOW_END, _within(y)
        cut = np.where(low, written[assessor], HIGH_END - 0.5 * step)
        rows = np.flatnonzero(~within)
        return cls(rows, cut[rows], np.where(low, 1.0, -1.0)[rows], within, written, step)


def _within(y: Vector) -> Flags:
    found: Flags = (y > LOW_END) & (y < HIGH_END)
    return found


def step_of(y: Vector) -> float:
    """Least difference between two scores that were given, in points.

    Examples
    --------
    >>> import numpy as np
    >>> step_of(np.array([0.0, 30.0, 20.0, 60.0])), step_of(np.array([0.0, 50.0]))
    (10.0, 10.0)
    """
    values = np.unique(y)
    if len(values) < 2:
        return 1.0
    return float(min(np.diff(values).min(), _LARGEST_STEP))


def least_written(y: Vector, assessor: Codes, step: float) -> Vector:
    """Below what each assessor writes 0: half a step under the least he wrote above it.

    Who wrote too few scores above 0 to tell starts where the middle one of the others does.

    Examples
    --------
    >>> import numpy as np
    >>> y = np.array([0.0, 3, 5, 8, 9, 12, 0, 6, 7, 8, 9, 10, 0, 40])
    >>> least_written(y, np.repeat([0, 1, 2], [6, 6, 2]), 1.0).tolist()
    [2.5, 5.5, 4.0]
    """
    least = np.full(int(assessor.max()) + 1, np.nan)
    for j in range(len(least)):
        above = y[(assessor == j) & (y > LOW_END)]
        if len(above) >= _SCORES_TO_TELL:
            least[j] = above.min() - 0.5 * step
    known = np.isfinite(least)
    usual = float(np.median(least[known])) if known.any() else 0.5 * step
    found: Vector = np.clip(np.where(known, least, usual), 0.5 * step, _LARGEST_STEP)
    return found
