"""Power where it is exact: Student's t and Fisher's F, not central."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy.stats

ALPHA = 0.05


def power_of_difference(
    points: float, error_variance: float, assessors: int, alpha: float = ALPHA
) -> float:
    """Exact power to tell two casks apart that everybody nosed, two-sided.

    Each person's difference has the variance ``2 v``; the t of their mean has ``J - 1`` degrees
    of freedom and is off centre by ``points / sqrt(2 v / J)``.

    Parameters
    ----------
    error_variance
        Of each person's mean of one cask, ``v``: disagreement and the noise of his glasses.

    Examples
    --------
    >>> round(power_of_difference(10.0, 50.0, 8), 4)
    0.6808
    >>> power_of_difference(0.0, 50.0, 8).__round__(6)
    0.05
    """
    df = assessors - 1
    off = points / np.sqrt(2.0 * error_variance / assessors)
    end = scipy.stats.t.ppf(1.0 - alpha / 2.0, df)
    above = scipy.stats.nct.sf(end, df, off)
    below = scipy.stats.nct.cdf(-end, df, off)
    return float(np.nan_to_num(above) + np.nan_to_num(below))


def power_beyond(
    points: float,
    tolerance: float,
    error_variance: float,
    assessors: int,
    df: int,
    alpha: float = ALPHA,
) -> float:
    """Exact power to call two casks further apart than a tolerance, as the program says it.

    The mean difference less the tolerance over its standard error is a t, not central, held
    against one end of it: the rule of `pair_span`, whose error has more degrees of freedom, since
    all samples of the sessions tell of it. On one note; among several it is said more seldom.

    Parameters
    ----------
    df
        Degrees of freedom of the error.

    Examples
    --------
    >>> round(power_beyond(10.0, 10.0, 50.0, 8, 35), 4)
    0.05
    >>> round(power_beyond(20.0, 10.0, 50.0, 8, 35), 3)
    0.87
    """
    se = np.sqrt(2.0 * error_variance / assessors)
    end = scipy.stats.t.ppf(1.0 - alpha, df)
    above = scipy.stats.nct.sf(end, df, (points - tolerance) / se)
    below = scipy.stats.nct.sf(end, df, (-points - tolerance) / se)
    return min(float(np.nan_to_num(above) + np.nan_to_num(below)), 1.0)


def smallest_beyond(
    tolerance: float, error_variance: float, assessors: int, df: int, power: float = 0.8
) -> float:
    """Points between two casks that are called further apart than a tolerance with some power.

    Examples
    --------
    >>> found = smallest_beyond(10.0, 50.0, 8, 35)
    >>> round(power_beyond(found, 10.0, 50.0, 8, 35), 6)
    0.8
    """
    step = float(np.sqrt(2.0 * error_variance / assessors))
    high = tolerance + step
    while power_beyond(high, tolerance, error_variance, assessors, df) < power:
        high += step
    low = tolerance
    for _ in range(60):
        middle = (low + high) / 2.0
        if power_beyond(middle, tolerance, error_variance, assessors, df) < power:
            low = middle
        else:
            high = middle
    return float(high)


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


def smallest_difference(error_variance: float, assessors: int, power: float = 0.8) -> float:
    """Points between two casks that are told apart with some power.

    Examples
    --------
    >>> found = smallest_difference(50.0, 8)
    >>> round(power_of_difference(found, 50.0, 8), 6)
    0.8
    """
    low, high = 0.0, np.sqrt(2.0 * error_variance / assessors)
    while power_of_difference(high, error_variance, assessors) < power:
        high *= 2.0
    for _ in range(60):
        middle = (low + high) / 2.0
        if power_of_difference(middle, error_variance, assessors) < power:
            low = middle
        else:
            high = middle
    return float(high)
