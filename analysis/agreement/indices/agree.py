"""How far assessors agree: intraclass correlations, Kendall's W and Friedman's test.

All of them take a complete table, samples down and assessors across, each assessor's mean over
his replicates in the cells.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix
from .distributions import chi2_upper, f_quantile, ranks


@dataclass(frozen=True)
class IccForm:
    """One intraclass correlation with its 95 % interval.

    Not a number stands for what cannot be told: a correlation whose variances add up to less than
    nothing. A lower bound of minus infinity is none.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Concordance:
    """Kendall's W with Friedman's test of it.

    Attributes
    ----------
    w
        Corrected for ties; 0 is no agreement in order, 1 the same order throughout.
    chi2, df, p
        Friedman's chi-square ``assessors (samples - 1) W``.
    n_assessors
        How many rankings are behind it.
    """

    w: float
    chi2: float
    df: int
    p: float
    n_assessors: int

    @property
    def f(self) -> float:
        """F of the ranks, ``(m - 1) W / (1 - W)``; better than chi-square in small panels."""
        above = (self.n_assessors - 1) * self.w
        return above / (1.0 - self.w) if self.w < 1.0 else float("inf")


def intraclass(table: Matrix) -> Mapping[str, IccForm] | None:
    """All six intraclass correlations of Shrout & Fleiss (1979).

    ``1`` takes assessors as different for each sample, ``2`` as drawn at random, ``3`` as
    these and no others; the second sign is ``1`` for one assessor and ``k`` for the mean of
    the panel. ``3,k`` is the panel's consistency when offsets do not matter, ``2,1`` how far
    one assessor could stand in for another. A negative value means less agreement than
    chance; for the mean of a panel it may be far below -1.

    Parameters
    ----------
    table
        Shape (samples, assessors), no holes, at least 2 by 2.

    Returns
    -------
    mapping or None
        Keys ``1,1 2,1 3,1 1,k 2,k 3,k``; None when samples do not differ at all or assessors
        agree to the last digit, where the ratios are undefined.

    Notes
    -----
    With mean squares between samples B, within W, between assessors J and left over E:
    ``(1,1) = (B-W)/(B+(k-1)W)``, ``(2,1) = (B-E)/(B+(k-1)E+k(J-E)/n)``,
    ``(3,1) = (B-E)/(B+(k-1)E)``; intervals from F, for form 2 by the approximation there.

    Examples
    --------
    >>> ratings = np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8],
    ...                     [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], dtype=float)
    >>> {form: round(found.value, 2) for form, found in intraclass(ratings).items()}
    {'1,1': 0.17, '2,1': 0.29, '3,1': 0.71, '1,k': 0.44, '2,k': 0.62, '3,k': 0.91}
    """
    n, k = table.shape
    grand = table.mean()
    rows, columns = table.mean(axis=1), table.mean(axis=0)
    b = k * np.sum((rows - grand) ** 2) / (n - 1)
    w = np.sum((table - rows[:, None]) ** 2) / (n * (k - 1))
    j = n * np.sum((columns - grand) ** 2) / (k - 1)
    e = np.sum((table - rows[:, None] - columns + grand) ** 2) / ((n - 1) * (k - 1))
    tiny = 1e-20 * max(float(np.sum((table - grand) ** 2)), 1e-300)
    if b <= tiny or e <= tiny or w <= tiny:
        return None
    return {
        "1,1": _single(b, w, n - 1, n * (k - 1), k),
        "2,1": _random_single(b, j, e, n, k),
        "3,1": _single(b, e, n - 1, (n - 1) * (k - 1), k),
        "1,k": _average(b, w, n - 1, n * (k - 1)),
        "2,k": _random_average(b, j, e, n, k),
        "3,k": _average(b, e, n - 1, (n - 1) * (k - 1)),
    }


def _single(b: float, noise: float, df1: int, df2: int, k: int) -> IccForm:
    f = b / noise
    low = f / f_quantile(0.975, df1, df2)
    high = f * f_quantile(0.975, df2, df1)
    value, low, high = ((x - 1.0) / (x + k - 1.0) for x in (f, low, high))
    return IccForm(float(value), float(low), float(high))


def _average(b: float, noise: float, df1: int, df2: int) -> IccForm:
    f = b / noise
    low = f / f_quantile(0.975, df1, df2)
    high = f * f_quantile(0.975, df2, df1)
    value, low, high = (1.0 - 1.0 / x for x in (f, low, high))
    return IccForm(float(value), float(low), float(high))


def _random_single(b: float, j: float, e: float, n: int, k: int) -> IccForm:
    value = (b - e) / (b + (k - 1) * e + k * (j - e) / n)
    fj = j / e
    shared = n * (1.0 + (k - 1) * value) - k * value
    above = (k - 1) * (n - 1) * (k * value * fj + shared) ** 2
    v = above / ((n - 1) * (k * value * fj) ** 2 + shared**2)
    v = max(v, k - 1.0)  # less than of either part: the two cancel, as they may below zero
    upper = f_quantile(0.975, n - 1, v)
    lower = f_quantile(0.975, v, n - 1)
    spread = k * j + (k * n - k - n) * e
    low = n * (b / upper - e) / (spread + n * b / upper)  # with hardly a df, upper is beyond all
    high = n * (lower * b - e) / (spread + n * lower * b)
    return IccForm(float(value), float(low), float(high))


def _random_average(b: float, j: float, e: float, n: int, k: int) -> IccForm:
    single = _random_single(b, j, e, n, k)
    level = b + (j - e) / n
    if level <= 0.0:  # assessors who cancel each other out: nothing is left to agree on
        return IccForm(float("nan"), float("nan"), float("nan"))
    value = (b - e) / level
    return IccForm(float(value), _of_panel(single.low, k), _of_panel(single.high, k))


def _of_panel(single: float, k: int) -> float:
    """A correlation of one assessor stepped up to the panel's mean (Spearman 1910, Brown 1910)."""
    below = 1.0 + single * (k - 1)
    found = single * k / below if below > 0.0 else float("-inf")
    return found if found > _NO_BOUND else float("-inf")


_NO_BOUND = -10.0
"""So far below zero a bound says nothing but that there is none."""


def concordance(table: Matrix) -> Concordance | None:
    """Kendall's W, corrected for ties, and Friedman's test.

    Choose it when only the order of the glasses is to be trusted: it takes no notice of how
    wide a line anybody uses.

    Parameters
    ----------
    table
        Shape (samples, assessors), no holes, at least 2 by 2.

    Returns
    -------
    Concordance or None
        None when every assessor tied all samples.

    Notes
    -----
    ``W = 12 S / (m^2 (n^3 - n) - m T)`` with S the squared deviations of the rank sums,
    m assessors, n samples and ``T = sum (t^3 - t)`` over all ties; Kendall (1948), chapter 6.

    Examples
    --------
    >>> concordance(np.array([[1, 1, 2, 3], [3, 2, 3, 1], [2, 3, 1, 2]], dtype=float)).w
    0.0625
    """
    n, m = table.shape
    ranked = ranks(table)
    sums = ranked.sum(axis=1)
    ties = 0.0
    for column in table.T:
        size = np.unique(column, return_counts=True)[1].astype(np.float64)
        ties += float(np.sum(size**3 - size))
    below = m**2 * (n**3 - n) - m * ties
    if below <= 0:
        return None
    w = float(12.0 * np.sum((sums - sums.mean()) ** 2) / below)
    chi2 = m * (n - 1) * w
    p = chi2_upper(chi2, n - 1)
    return Concordance(w=w, chi2=chi2, df=n - 1, p=p, n_assessors=m)
