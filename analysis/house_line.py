"""The line that everything is told on, from 0 to 100 points, and quantiles of the normal."""

from __future__ import annotations

import numpy as np

from .array_types import Floats

LOW, HIGH = 0.0, 100.0
"""The ends of the line: not there at all, and as strong as it gets."""
Z_95 = 1.959963984540054
"""A normal lies within so many standard deviations 95 times in 100."""
Z_95_ONE_SIDED = 1.6448536269514722
"""It lies below so many 95 times in 100, and so within them 90 times."""


def on_the_line(points: Floats) -> Floats:
    """Points held to the ends of the line."""
    held: Floats = np.clip(points, LOW, HIGH)
    return held
