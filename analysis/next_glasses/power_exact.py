"""Power where it is exact: Student's t and Fisher's F, not central."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy.stats

ALPHA = 0.05


def power_of_difference(
    points: float,
    error_variance: float,
    assessors: int,
    alpha: float = ALPHA,
    *,
    df: int | None = None,
) -> float:
    """Exact power to tell two casks apart that everybody nosed, two-sided.

    Each person's difference has the variance ``2 v``; the t of their mean is off centre by
    ``points / sqrt(2 v / J)``.

    Parameters
    ----------
    error_variance
        Of each person's mean of one cask, ``v``: disagreement and the noise of his glasses.
    df
        Degrees of freedom of the error: by default those of the two alone, ``J - 1``; of ``k``
        samples on every tray ``(J - 1)(k - 1)``.

    Examples
    --------
    >>> round(power_of_difference(10.0, 50.0, 8), 4)
    0.6808
    >>> round(power_of_difference(10.0, 50.0, 8, df=35), 4)
    0.7853
    >>> power_of_difference(0.0, 50.0, 8).__round__(6)
    0.05
    """
    df = assessors - 1 if df is None else df
    off = points / np.sqrt(2.0 * error_variance / assessors)
    end = scipy.stats.t.ppf(1.0 - alpha / 2.0, df)
    above = scipy.stats.nct.sf(end, df, off)
    below = scipy.stats.nct.cdf(-end, df, off)
    return float(np.nan_to_num(above) + np.nan_to_num(below))


def power_of_samples(
    levels: Sequence[float], error_variance: float, assessors: int, alpha: float = ALPHA
) -> float:
    """Exact power of the test that some samples differ at all: F of samples over disagreement.

    ``(k - 1, (k - 1)(J - 1))`` degrees of freedom, off centre by ``J sum (m - mean)^2 / v``.

    Examples
    --------
    >>> round(power_of_samples([40.0, 50.0, 60.0], 100.0, 6), 4)
    0.7592
    """
    m = np.asarray(levels, dtype=np.float64)
    first, second = len(m) - 1, (len(m) - 1) * (assessors - 1)
    off = assessors * float(np.sum((m - m.mean()) ** 2)) / error_variance
    end = scipy.stats.f.ppf(1.0 - alpha, first, second)
    return float(scipy.stats.ncf.sf(end, first, second, off))


def smallest_difference(
    error_variance: float, assessors: int, power: float = 0.8, *, df: int | None = None
) -> float:
    """Points between two casks that are told apart with some power.

    Examples
    --------
    >>> found = smallest_difference(50.0, 8)
    >>> round(power_of_difference(found, 50.0, 8), 6)
    0.8
    """

    def told(points: float) -> bool:
        return power_of_difference(points, error_variance, assessors, df=df) >= power

    low, high = 0.0, float(np.sqrt(2.0 * error_variance / assessors))
    while not told(high):
        high *= 2.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if told(middle) else (middle, high)
    return high
