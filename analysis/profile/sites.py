"""What each glass says where some lie at an end of the line: pseudo-scores with precisions.

A glass at an end has no score to fit, but a side on which it lies. Each is replaced by a
pseudo-score ``t`` of precision ``w``, so chosen that it does to what is fitted what the glass
itself does (expectation propagation: Minka 2001). With the fit's own value `f` and variance `v`
at the glass, without the glass itself::

    v' = 1 / (1/v - w)      m' = v' (f/v - w t)
    S^2 = sigma_j^2 + v'    z = (c_j - m') / S      h = phi(z) / Phi(z)
    gamma = h (h + z) / S^2     w = gamma / (1 - gamma v')     t = m' - (h / S) / gamma

with signs turned at the upper end. What such a glass tells of the noise is ``E e^2 - sigma_j^2 =
-sigma_j^4 z h / S^2``.

Any glass may be a slip, a score that has nothing to do with what was in the glass. With a share
``q`` of slips, each anywhere on the line or what another glass was given, its *trust* is the
chance that it is none::

    r = (1 - q) p(y) / ((1 - q) p(y) + q u(y))

and its precision counts r times. The share of slips is estimated with the rest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import log_ndtr

from ..array_types import Vector
from .ends import HIGH_END, Ends

DAMPING = 0.8
"""Part of the way that a glass goes in a round; a half of its last part where it turns back."""
_LEAST_PART = 0.1
_FASTER = 1.2
_LEAST_SLOPE = 1e-10
_LEAST_LEFT = 1e-3
_FARTHEST = 0.3
"""Furthest that a lengthened step may move the log of a precision."""
_LOG_ROOT = 0.5 * np.log(2.0 * np.pi)


@dataclass(frozen=True)
class Fitted:
    """What a fit says of some glasses: value and variance of it, and variance of the noise."""

    value: Vector
    variance: Vector
    noise: Vector


@dataclass(frozen=True)
class Sites:
    """Pseudo-scores of all glasses.

    Attributes
    ----------
    score, precision
        In points, and one over squared points.
    told
        What each glass at an end tells of the noise: ``E e^2`` less its variance; else 0.
    trust
        Chance that the glass is no slip.
    step
        How far the precision of each was to go in the last round, and `part`, how much of that
        it went, of what is usual: the trust of a glass that may be a slip or not hangs on what
        is fitted, that on its trust, and the two may swing.
    """

    score: Vector
    precision: Vector
    told: Vector
    trust: Vector
    step: Vector
    part: Vector

    @classmethod
    def first(cls, ends: Ends, y: Vector, noise: Vector) -> Sites:
        """Where to start: half a noise beyond the cut, of half a precision."""
        score, precision = y.astype(np.float64), 1.0 / noise
        sd = np.sqrt(noise[ends.rows])
        score[ends.rows] = ends.cut - 0.5 * ends.sign * sd
        precision[ends.rows] *= 0.5
        nothing, one = np.zeros(len(y)), np.ones(len(y))
        return cls(score, precision, nothing, one, nothing, one)

    def at_noise(self, ends: Ends, noise: Vector) -> Sites:
        """The same at another noise: a score within the line is as precise as its noise lets it."""
        precision = np.where(ends.within, self.trust / noise, self.precision)
        return replace(self, precision=precision)

    def farther(self, before: Sites, times: float) -> Sites:
        """Where they come to if the way from `before` is gone so many times."""
        more = times - 1.0
        grown = more * np.log(self.precision / before.precision)
        score = self.score + more * (self.score - before.score)
        precision = self.precision * np.exp(np.clip(grown, -_FARTHEST, _FARTHEST))
        return replace(self, score=score, precision=precision)

    def better(self, ends: Ends, y: Vector, found: Fitted, slips: float, damping: float) -> Sites:
        """Refresh from what the fit says, with a share of `slips`."""
        left = np.maximum(1.0 / found.variance - self.precision, _LEAST_LEFT / found.variance)
        spread = 1.0 / left
        mean = spread * (found.value / found.variance - self.precision * self.score)
        total = found.noise + spread
        at = ends.rows
        z = ends.sign * (ends.cut - mean[at]) / np.sqrt(total[at])
        log_share = log_ndtr(z)
        trust = self._trusted(ends, y, mean, total, log_share, slips)
        h = np.exp(-0.5 * z * z - _LOG_ROOT - log_share)
        gamma = np.maximum(h * (h + z), _LEAST_SLOPE) / total[at]
        precision = trust / found.noise
        score = y.astype(np.float64)
        precision[at] = trust[at] * gamma / np.maximum(1.0 - gamma * spread[at], 1e-6)
        score[at] = mean[at] - ends.sign * h / np.sqrt(total[at]) / gamma
        step = precision - self.precision
        part = self._part(step)
        far = damping * part
        mixed = (1.0 - far) * self.precision + far * precision
        moved = (1.0 - far) * self.precision * self.score + far * precision * score
        told = np.zeros(len(y))
        told[at] = -trust[at] * found.noise[at] ** 2 / total[at] * z * h
        return Sites(moved / mixed, mixed, told, trust, step, part)

    def _part(self, step: Vector) -> Vector:
        """How much of the usual part of its step each glass goes."""
        turned = step * self.step < 0.0
        found: Vector = np.where(turned, 0.5 * self.part, np.minimum(_FASTER * self.part, 1.0))
        return np.maximum(found, _LEAST_PART)

    @staticmethod
    def _trusted(
        ends: Ends, y: Vector, mean: Vector, total: Vector, log_share: Vector, slips: float
    ) -> Vector:
        if slips <= 0.0:
            return np.ones(len(y))
        log_right = -0.5 * (y - mean) ** 2 / total - 0.5 * np.log(total) - _LOG_ROOT
        log_right[ends.rows] = log_share
        here = _of_slips(ends)
        right, wrong = (1.0 - slips) * np.exp(log_right), slips * here
        found: Vector = right / (right + wrong)
        return found


def _of_slips(ends: Ends) -> Vector:
    """How likely a slip is to give what each glass has: anything on the line, or another glass."""
    within = ends.within
    share = float(np.mean(within))
    found = np.where(within, 0.5 * (1.0 + share) / HIGH_END, 0.0)
    at_end = np.where(ends.sign > 0.0, np.mean(ends.sign > 0.0), np.mean(ends.sign < 0.0))
    found[ends.rows] = 0.5 * (0.5 * ends.step / HIGH_END + (1.0 - share) * at_end)
    return found
