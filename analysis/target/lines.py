"""The lines of a target as arrays."""

from __future__ import annotations

import numpy as np

from ..array_types import Vector
from .target import Target


def lines_of(target: Target) -> tuple[Vector, Vector, Vector]:
    """Aims, tolerances, and weights that add up to one."""
    weight = np.array([line.weight for line in target.lines])
    return (
        np.array([line.aim for line in target.lines]),
        np.array([line.tolerance for line in target.lines]),
        weight / weight.sum(),
    )
