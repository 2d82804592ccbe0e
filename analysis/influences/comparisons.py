"""All that can be compared among some draws, as weights of the model's coefficients.

What is compared depends on the draws alone, so descriptors read of the same draws share it.
"""

from __future__ import annotations

import numpy as np

from ..array_types import Matrix
from .compare_rest import against_average, ages, phenols, previous, strength
from .compare_woods import fills, fills_in_woods, woods
from .factors import Covariate
from .ground import Comparison, Ground, stacked
from .terms import Way


class Comparisons:
    """Everything that can be compared among some draws."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self.all = compare(ground)
        sides = [
            (place, sign, points)
            for place, part in enumerate(self.all)
            for sign, points in ((1.0, part.plus), (-1.0, part.minus))
            if points is not None
        ]
        sizes = [points.n for _, _, points in sides]
        self._points = stacked([points for _, _, points in sides]) if sides else None
        self._of = np.repeat(np.array([place for place, _, _ in sides], dtype=np.intp), sizes)
        self._share = np.repeat([sign / points.n for _, sign, points in sides], sizes)
        self._rows: dict[Way, Matrix] = {}

    def rows(self, way: Way) -> Matrix:
        """Weights of the coefficients in one way of growing, shape (comparisons, m)."""
        if way not in self._rows:
            self._rows[way] = self._reckoned(way)
        return self._rows[way]

    def _reckoned(self, way: Way) -> Matrix:
        """The mean of the casks on one side less that of those on the other."""
        terms, at = self.ground.terms, self._points
        if at is None:
            return np.zeros((len(self.all), len(terms.columns.block)))
        bases = terms.bases(way, at.age_years, at.phenol_ppm)
        return terms.sums(at, bases * self._share[:, None], self._of, len(self.all))


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
