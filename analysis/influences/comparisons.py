"""All that can be compared among some draws, as weights of the model's coefficients.

What is compared depends on the draws alone, so descriptors read of the same draws share it.
"""

from __future__ import annotations

import numpy as np

from ..array_types import Matrix, Vector
from .compare_rest import against_average, ages, phenols, previous, strength
from .compare_woods import fills, fills_in_woods, woods
from .factors import Covariate
from .ground import Comparison, Ground, Side
from .terms import Way


class Comparisons:
    """Everything that can be compared among some draws."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self.all = compare(ground)
        self._sides = [
            None
            if part.plus is None or part.minus is None
            else (Side.of(part.plus, ground.terms), Side.of(part.minus, ground.terms))
            for part in self.all
        ]
        self._rows: dict[Way, Matrix] = {}

    def rows(self, way: Way) -> Matrix:
        """Weights of the coefficients in one way of growing, shape (comparisons, m)."""
        if way not in self._rows:
            self._rows[way] = np.array([self._row(sides, way) for sides in self._sides])
        return self._rows[way]

    def _row(self, sides: tuple[Side, Side] | None, way: Way) -> Vector:
        terms = self.ground.terms
        if sides is None:
            return np.zeros(len(terms.columns.block))
        return sides[0].mean_row(terms, way) - sides[1].mean_row(terms, way)


def compare(ground: Ground) -> tuple[Comparison, ...]:
    """Return all comparisons that some draws allow, and those they do not with the reason."""
    return tuple(
        [
            *woods(ground),
            *fills(ground),
            *fills_in_woods(ground),
            *ages(ground),
            *phenols(ground),
            *strength(ground),
            *previous(ground),
            *against_average(ground, Covariate.WAREHOUSE),
            *against_average(ground, Covariate.MAKE),
        ]
    )
