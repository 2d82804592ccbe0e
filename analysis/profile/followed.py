"""Pseudo-scores that follow their sample at once, where a round of the whole house is dear.

Between two rounds the pseudo-scores of a sample speak to one another mostly by way of that sample.
With all else held where the round found it, a sample's posterior takes the change of its own
glasses up by itself::

    1 / V' = 1 / V + sum (o' - o)       o = g^2 / (1 / w + rho)
    m' / V' = m / V + sum (o' (t' - r) - o (t - r)) / g

with rho the variance of the rest r of what is fitted at a glass, its own pseudo-score left out.
Each glass is then refreshed from what this says of it. Where a round finds the pseudo-scores at
rest nothing moves here: what a fit comes to stays the same, it is only sooner there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Vector
from .ends import Ends
from .layout import sums
from .sites import DAMPING, Fitted, Sites

_TIMES = 3
_LEAST_LEFT = 1e-3
_LEAST_KNOWN, _LEAST_VARIANCE = 0.1, 0.05
"""Shares of what a sample was known by, and of what was uncertain at a glass, that stay."""


@dataclass(frozen=True)
class OwnSample:
    """What a round found of the sample of each glass.

    Attributes
    ----------
    code, scale
        Sample of each glass, and how far the assessor's scores go with it.
    mean, variance
        Of each sample.
    along
        How what is fitted at each glass goes with its sample.
    """

    code: Codes
    scale: Vector
    mean: Vector
    variance: Vector
    along: Vector


def followed(
    sites: Sites, before: Sites, ends: Ends, y: Vector, found: Fitted, own: OwnSample, slips: float
) -> Sites:
    """Refresh some times more, each sample following its glasses.

    Parameters
    ----------
    sites, before
        After one refreshing, and those that the round was solved with.
    found
        What the round fitted.
    """
    local = _Local(before, found, own)
    for _ in range(_TIMES):
        sites = sites.better(ends, y, local.fitted(sites), slips, DAMPING)
    return sites


class _Local:
    """The samples one by one, all else held."""

    def __init__(self, before: Sites, found: Fitted, own: OwnSample) -> None:
        self._found, self._own = found, own
        known = found.variance - own.along**2 * own.variance[own.code]
        rest = np.maximum(known, 1e-9 * found.variance)
        left = np.maximum(1.0 / rest - before.precision, _LEAST_LEFT / rest)
        self._apart = 1.0 / left
        self._rest = found.value - own.scale * own.mean[own.code]
        self._told, self._pull = self._of(before)

    def _of(self, sites: Sites) -> tuple[Vector, Vector]:
        """What each glass tells of its sample, and that times where."""
        weight = self._own.scale / (1.0 / sites.precision + self._apart)
        return weight * self._own.scale, weight * (sites.score - self._rest)

    def fitted(self, sites: Sites) -> Fitted:
        """What is fitted once the samples have followed these."""
        own, found, n = self._own, self._found, len(self._own.mean)
        told, pull = self._of(sites)
        known = 1.0 / own.variance
        more = np.maximum(known + sums(own.code, told - self._told, n), _LEAST_KNOWN * known)
        mean = (own.mean * known + sums(own.code, pull - self._pull, n)) / more
        value = found.value + own.along * (mean - own.mean)[own.code]
        variance = found.variance + own.along**2 * (1.0 / more - own.variance)[own.code]
        variance = np.maximum(variance, _LEAST_VARIANCE * found.variance)
        return Fitted(value, variance, found.noise)
