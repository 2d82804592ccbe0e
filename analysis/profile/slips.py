"""Slips: a score far off what was to be expected counts for less.

Noise is taken for Student's. With a residual e of squared scale t, its weight is
``w = (nu + 1) / (nu + e^2 / t)`` and its influence ``w e``. A fit needs scores it can treat as
normal, so each is moved to where its influence says, ``fitted + w e / m``, with ``m`` the mean
slope of the influence: such *moderated* scores have the same solution, and their variance,
estimated like any other, already holds what robustness costs. Standard errors built on it are
right whether the noise is Student's, normal or swapped glasses (pseudo-values: Huber 1981,
ch. 7; with mixed models: Richardson & Welsh 1995). Far off, the influence falls back to zero.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Vector

_LEAST_SLOPE = 0.3
"""Where so many scores are slips that the influence hardly rises, trust it no less than so."""


@dataclass(frozen=True)
class Moderated:
    """Residuals after moderation, with the weights that did it."""

    left: Vector
    weight: Vector
    slope: float


def moderate(left: Vector, uncertain: Vector, spread: Vector, degrees: float) -> Moderated:
    """Moderate residuals.

    Parameters
    ----------
    left
        Score less what is fitted.
    uncertain
        Variance of what is fitted.
    spread
        Squared scale of the noise of each score.
    degrees
        ``nu``.

    Examples
    --------
    >>> import numpy as np
    >>> found = moderate(np.array([1.0, -1.0, 30.0]), np.zeros(3), np.ones(3), 4.0)
    >>> found.weight.round(2).tolist()
    [1.0, 1.0, 0.01]
    """
    squared = (left * left + uncertain) / spread
    weight = (degrees + 1.0) / (degrees + squared)
    slope = float(np.mean(weight * (degrees - squared) / (degrees + squared)))
    slope = max(slope, _LEAST_SLOPE)
    return Moderated(weight * left / slope, weight, slope)
