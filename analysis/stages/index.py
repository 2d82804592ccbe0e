"""Where a note lies: the log ratio of its finish to its arrival.

A ratio hardly moves where only the amount of a note doubles, as a difference does, unless a score
lies near 0 or 100 (`ends.py`). Both scores
have a few points added before, for the line ends at 0: what is added keeps one point of noise near
that end from counting for more than the whole course of a strong note.
"""

from __future__ import annotations

import numpy as np

from ..array_types import Vector

ADDED = 5.0
"""Points of 100 added to both. With 2 a mild difference takes 35 glasses a sample in the place of
28; with 10 a doubled amount moves the index as far as a small difference does (`bench_traces`)."""
FAINTEST = 20.0
"""Points that a note has to reach on arrival or in the finish, by the panel's mean. Below, what is
added tells most of the ratio, and a faint note would seem to linger."""
SCALE = 100.0


def log_ratios(arrival: Vector, finish: Vector) -> Vector:
    """Return the log ratio of finish to arrival, points of 0 to 100, of glasses."""
    return np.asarray(np.log((finish + ADDED) / (arrival + ADDED)))


def log_ratio(arrival: float, finish: float) -> float | None:
    """Return the log ratio of one glass; None where the note was perceived at neither.

    Examples
    --------
    >>> round(log_ratio(45.0, 20.0), 3), log_ratio(20.0, 20.0), log_ratio(0.0, 0.0)
    (-0.693, 0.0, None)
    """
    if arrival <= 0 and finish <= 0:
        return None
    return float(log_ratios(np.array([arrival]), np.array([finish]))[0])
