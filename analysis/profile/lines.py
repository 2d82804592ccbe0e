"""From an estimate to what stands on the line: how a note is read decides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.special import ndtri

from ..array_types import Vector
from ..house_line import HIGH, LOW, on_the_line


class OnTheLine(Protocol):
    """What an estimate and its standard error come to on the line, one a sample."""

    def moments(self, z: Vector, sd: Vector) -> tuple[Vector, Vector]:
        """Mean and sd of the expected score."""

    def band(self, z: Vector, sd: Vector, level: float) -> tuple[Vector, Vector]:
        """Band that holds the expected score in a share `level` of cases."""


@dataclass(frozen=True)
class Straight:
    """Scores taken at their word: the estimate is the expected score."""

    def moments(self, z: Vector, sd: Vector) -> tuple[Vector, Vector]:
        """Give them back as they are."""
        return z, sd

    def band(self, z: Vector, sd: Vector, level: float) -> tuple[Vector, Vector]:
        """To both sides alike; one-sided where it would cross an end of the line."""
        low, high = z - two_sided(level) * sd, z + two_sided(level) * sd
        upper = np.where(low < LOW, z + one_sided(level) * sd, high)
        lower = np.where(high > HIGH, z - one_sided(level) * sd, low)
        return on_the_line(lower), on_the_line(upper)


def two_sided(level: float) -> float:
    """Sds to both sides that hold a share `level` of a normal."""
    return float(ndtri(0.5 + 0.5 * level))


def one_sided(level: float) -> float:
    """Sds to one side that hold a share `level` of a normal."""
    return float(ndtri(level))
