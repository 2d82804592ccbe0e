"""Tail areas and quantiles that the tests need.

They come from scipy.special: scipy.stats says the same, but takes a second to load, and a panel
lead waits for that.
"""

from __future__ import annotations

import numpy as np
import scipy.special

from ...array_types import Matrix, Vector


def f_upper(f: float, df_num: float, df_den: float) -> float:
    """Chance of a larger F."""
    return float(scipy.special.fdtrc(df_num, df_den, f))


def f_quantile(below: float, df_num: float, df_den: float) -> float:
    """The F that is exceeded with chance ``1 - below``."""
    return float(scipy.special.fdtri(df_num, df_den, below))


def chi2_upper(chi2: float, df: float) -> float:
    """Chance of a larger chi-square."""
    return float(scipy.special.chdtrc(df, chi2))


def chi2_lower(chi2: float, df: float) -> float:
    """Chance of a smaller chi-square."""
    return float(scipy.special.chdtr(df, chi2))


def t_two_sided(t: float, df: float) -> float:
    """Chance of a t further from zero on either side."""
    return float(2.0 * scipy.special.stdtr(df, -abs(t)))


def t_upper(t: float, df: float) -> float:
    """Chance of a larger t."""
    return float(scipy.special.stdtr(df, -t))


def t_quantile(below: float, df: float) -> float:
    """The t that is exceeded with chance ``1 - below``."""
    return float(scipy.special.stdtrit(df, below))


def expanded(level: float, n: int) -> float:
    """Percentile to take of n things redrawn, so that it holds `level` of the truth.

    ``Phi(sqrt(n / (n - 1)) t)`` with t the quantile of Student's t on n - 1.

    Examples
    --------
    >>> round(expanded(0.1, 8), 3), round(expanded(0.1, 1000), 3)
    (0.065, 0.1)
    """
    t = float(scipy.special.stdtrit(n - 1, level))
    return float(scipy.special.ndtr(np.sqrt(n / (n - 1.0)) * t))


def normal_density(x: float, mean: float, sd: float) -> float:
    """Density of the normal distribution."""
    z = (x - mean) / sd
    return float(np.exp(-0.5 * z * z) / (sd * np.sqrt(2.0 * np.pi)))


def ranks(table: Matrix) -> Matrix:
    """Ranks of each column from 1, tied values at their mean rank.

    Examples
    --------
    >>> ranks(np.array([[3.0], [1.0], [3.0]])).ravel().tolist()
    [2.5, 1.0, 2.5]
    """
    below = (table[None, :, :] < table[:, None, :]).sum(axis=1)
    same = (table[None, :, :] == table[:, None, :]).sum(axis=1)
    found: Matrix = below + (same + 1.0) / 2.0
    return found


def adjusted_for_many(p: Vector) -> Vector:
    """P values that hold the share of false alarms over all (Benjamini & Hochberg 1995).

    Examples
    --------
    >>> adjusted_for_many(np.array([0.01, 0.04, 0.03])).round(3).tolist()
    [0.03, 0.04, 0.04]
    """
    order = np.argsort(p)
    scaled = p[order] * len(p) / np.arange(1, len(p) + 1)
    falling = np.minimum.accumulate(scaled[::-1])[::-1]
    found = np.empty(len(p))
    found[order] = np.minimum(falling, 1.0)
    return found
