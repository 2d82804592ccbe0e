"""Would this panel put the samples in the same places again?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector
from .distributions import expanded
from .layout import ScoreLayout


@dataclass(frozen=True)
class Reliability:
    """Reliability of the panel's sample means.

    Attributes
    ----------
    value
        ``1 - 1/F``: the share of the variance of the sample means that is not noise. Negative
        when the means differ less than noise alone would make them.
    low, high
        Bounds that hold the true value in four panels of five, by panels redrawn from these
        assessors; a bound below zero is given as zero, or as the value where that is lower
        still.
    """

    value: float
    low: float
    high: float


def panel_reliability(
    layout: ScoreLayout, f: float, *, bootstraps: int = 999, seed: int = 1
) -> Reliability:
    """Reliability ``R = 1 - 1/F`` with bounds by drawing assessors with replacement.

    Parameters
    ----------
    layout
        Scores of one descriptor, at least two assessors and two samples.
    f
        F of the sample effect that the verdict leans on.
    bootstraps, seed
        Number of redrawn panels and seed of the generator.

    Returns
    -------
    Reliability

    Notes
    -----
    Redrawing adds noise of its own: the mean square between samples grows by about one mean
    square of interaction, and the interaction shrinks by (I - 1)/I. Both are taken back, so
    that the bounds lie around the value; without that they would sit too high. Few assessors
    make redrawn panels too alike, so the lower bound is taken further out (the expanded
    percentile of Hesterberg 2015, The American Statistician 69:371-386).

    Examples
    --------
    >>> layout = ScoreLayout(("A", "B", "C", "D"), ("x", "y", "z"), np.repeat(np.arange(4), 3),
    ...                 np.tile(np.arange(3), 4),
    ...                 np.array([10.0, 40, 70, 12, 38, 60, 5, 50, 70, 20, 45, 80]))
    >>> found = panel_reliability(layout, f=50.0)
    >>> found.value, found.low > 0.9
    (0.98, True)
    """
    present = (layout.counts > 0).astype(np.float64)
    adjusted = np.where(present > 0, layout.adjusted, 0.0)
    adjusted = adjusted - adjusted.sum() / present.sum() * present
    i = layout.n_assessors
    drawn = np.random.default_rng(seed).multinomial(i, np.full(i, 1.0 / i), size=bootstraps)
    weights = drawn.astype(np.float64)
    between, within = _mean_squares(adjusted, present, weights)
    between_seen, within_seen = _mean_squares(adjusted, present, np.ones((1, i)))
    usual = between_seen[0] / within_seen[0] if within_seen[0] > 0 else np.inf
    own = (between - within) / np.where(within > 0, within * i / (i - 1.0), np.nan)
    ratios = own * (f / usual) if np.isfinite(usual) else own
    with np.errstate(divide="ignore"):
        values = np.where(ratios > 0, 1.0 - 1.0 / np.where(ratios > 0, ratios, 1.0), -np.inf)
    values[np.isnan(ratios)] = 1.0
    low, high = np.quantile(values, [expanded(0.1, i), 0.9], method="nearest")
    value = 1.0 - 1.0 / f if f > 0 else -np.inf
    floor = min(value, 0.0)
    return Reliability(value=value, low=max(float(low), floor), high=max(float(high), floor))


def _mean_squares(adjusted: Matrix, present: Matrix, weights: Matrix) -> tuple[Vector, Vector]:
    """Mean squares between samples and within, for each row of assessor weights."""
    n = weights @ present
    sums = weights @ adjusted
    means = np.divide(sums, n, out=np.zeros_like(sums), where=n > 0)
    total = n.sum(axis=1, keepdims=True)
    grand = sums.sum(axis=1, keepdims=True) / total
    between = np.sum(n * (means - grand) ** 2, axis=1)
    squares = weights @ np.sum(adjusted**2, axis=1)
    within = np.maximum(squares - np.sum(n * means**2, axis=1), 0.0)
    i, j = present.shape
    df_within = max(float(present.sum()) - i - j + 1.0, 1.0)
    within = np.where(within > 1e-12 * np.maximum(squares, 1e-300), within, 0.0)
    return between / (j - 1.0), within / df_within
