"""Order and consistency where not every assessor had every sample.

Kendall's W, Friedman's test and the usual intraclass correlations need a complete table. These
do not.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector
from ...errors import FitError
from .crossed import CrossedDesign
from .distributions import chi2_upper, f_upper, ranks
from .reml import fit_reml

DURBIN = "Durbin's test for balanced incomplete blocks"
ANY_BLOCKS = "rank test for blocks of any size (Benard & van Elteren 1953)"


@dataclass(frozen=True)
class RankTest:
    """Test of whether samples differ in order, over the assessors who had them.

    Attributes
    ----------
    method
        Which test it is, in words.
    chi2, df, p
        Large-sample chi-square.
    f, df_den, f_p
        F, which holds its level better in small panels; None where only chi-square is known.
    """

    method: str
    chi2: float
    df: int
    p: float
    f: float | None = None
    df_den: int | None = None
    f_p: float | None = None


def rank_test(table: Matrix) -> RankTest | None:
    """Test the order of the samples in a table with holes.

    Choose it where assessors had different samples and only their order is to be trusted.
    With each assessor on the same number of samples and each pair of samples on the same
    number of assessors it is Durbin's test; in any other case the general one, which is
    Friedman's where there are no holes.

    Parameters
    ----------
    table
        Shape (samples, assessors), NaN where not scored.

    Returns
    -------
    RankTest or None
        None when nobody had two samples apart, or the table falls into parts.

    Notes
    -----
    Durbin with ties as in Conover (1999), Practical Nonparametric Statistics, section 5.10:
    ``T1 = (t - 1) sum (R_j - mean R)^2 / (A - C)`` with A the sum of squared ranks and
    ``C = b k (k + 1)^2 / 4``; ``F = (T1 / (t - 1)) / ((b (k - 1) - T1) / (b k - b - t + 1))``.
    In general ``T = a' V^- a`` with ``a_j`` the ranks of sample j about the mean of their
    assessors and V their covariance if each assessor's ranks were drawn from a hat.

    Examples
    --------
    Three samples, each pair nosed by one assessor, all in the same order:

    >>> gap = np.nan
    >>> found = rank_test(np.array([[1.0, 1.0, gap], [2.0, gap, 1.0], [gap, 3.0, 2.0]]))
    >>> round(found.chi2, 3), found.df, found.method == DURBIN
    (2.667, 2, True)
    """
    ranked, present = _ranked(table)
    ranked, present = ranked[:, present.sum(axis=0) > 1], present[:, present.sum(axis=0) > 1]
    if ranked.shape[1] == 0:
        return None
    k, r = present.sum(axis=0), present.sum(axis=1)
    pairs = (present.astype(float) @ present.T.astype(float))[np.triu_indices(len(table), 1)]
    if np.ptp(k) == 0 and np.ptp(r) == 0 and np.ptp(pairs) == 0:
        return _durbin(ranked, int(k[0]))
    return _any_blocks(ranked, present)


def _ranked(table: Matrix) -> tuple[Matrix, np.ndarray]:
    """Ranks within each assessor, 0 where not scored."""
    present = ~np.isnan(table)
    ranked = np.zeros(table.shape)
    for at, known in enumerate(present.T):
        ranked[known, at] = ranks(table[known, at][:, None])[:, 0]
    return ranked, present


def _durbin(ranked: Matrix, k: int) -> RankTest | None:
    t, b = ranked.shape
    sums = ranked.sum(axis=1)
    spread = float(np.sum(ranked**2)) - b * k * (k + 1) ** 2 / 4.0
    if spread <= 1e-12:
        return None
    chi2 = float((t - 1) * np.sum((sums - sums.mean()) ** 2) / spread)
    df_den = b * k - b - t + 1
    left = b * (k - 1) - chi2
    f = chi2 / (t - 1) / (left / df_den) if left > 1e-9 and df_den > 0 else None
    return RankTest(
        method=DURBIN,
        chi2=chi2,
        df=t - 1,
        p=chi2_upper(chi2, t - 1),
        f=f,
        df_den=df_den if f is not None else None,
        f_p=None if f is None else f_upper(f, t - 1, df_den),
    )


def _any_blocks(ranked: Matrix, present: np.ndarray) -> RankTest | None:
    t = len(ranked)
    covariance, above = np.zeros((t, t)), np.zeros(t)
    for column, known in zip(ranked.T, present.T, strict=True):
        k = int(known.sum())
        left = np.where(known, column - (k + 1) / 2.0, 0.0)
        above += left
        each = np.where(known, 1.0, 0.0)
        share = float(left @ left) / (k - 1.0)
        covariance += share * (np.diag(each) - np.outer(each, each) / k)
    values, vectors = np.linalg.eigh(covariance)
    kept = values > 1e-9 * max(float(values[-1]), 1e-300)
    df = int(kept.sum())
    if df < t - 1:
        return None
    chi2 = float(np.sum((vectors[:, kept].T @ above) ** 2 / values[kept]))
    return RankTest(ANY_BLOCKS, chi2, df, chi2_upper(chi2, df))


def consistency(table: Matrix) -> Mapping[str, float] | None:
    """Intraclass correlations from variance components, which need no complete table.

    The same questions as the usual forms with assessors drawn at random (2) and as these and
    no others (3), for one assessor and for the mean of the panel. A component at zero gives
    zero; unlike the usual forms they are never negative.

    Parameters
    ----------
    table
        Shape (samples, assessors), NaN where not scored.

    Returns
    -------
    mapping or None
        Keys ``2,1 3,1 2,k 3,k``; k is the harmonic mean of the assessors behind a sample. None
        when the components cannot be told apart.

    Notes
    -----
    REML of ``y = mean + sample + assessor + e`` with components s, a and e on the means over
    replicates: ``(2,1) = s / (s + a + e)``, ``(3,1) = s / (s + e)``, and with ``/ k`` behind
    a and e for the panel.

    Examples
    --------
    >>> ratings = np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8],
    ...                     [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], dtype=float)
    >>> {form: round(value, 2) for form, value in consistency(ratings).items()}
    {'2,1': 0.29, '3,1': 0.71, '2,k': 0.62, '3,k': 0.91}
    """
    sample, assessor = np.nonzero(~np.isnan(table))
    factors = {"sample": _coded(sample), "assessor": _coded(assessor)}
    y: Vector = table[sample, assessor]
    try:
        fit = fit_reml(CrossedDesign(np.ones((len(y), 1)), factors), y)
    except FitError:
        return None
    s, a, e = fit.components["sample"], fit.components["assessor"], fit.residual
    n = np.bincount(factors["sample"])
    k = len(n) / float(np.sum(1.0 / n))
    return {
        "2,1": s / (s + a + e),
        "3,1": s / (s + e),
        "2,k": s / (s + (a + e) / k),
        "3,k": s / (s + e / k),
    }


def _coded(levels: np.ndarray) -> np.ndarray:
    found: np.ndarray = np.unique(levels, return_inverse=True)[1]
    return found
