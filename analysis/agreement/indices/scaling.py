"""The mixed assessor model: how wide a line each assessor uses, and what then disagrees."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...array_types import Vector
from .anova import two_way_mixed
from .distributions import f_upper
from .layout import ScoreLayout
from .satterthwaite import FixedTest


@dataclass(frozen=True)
class Scaling:
    """The interaction taken apart into scaling and disagreement.

    Attributes
    ----------
    squares
        Sums of squares of scaling and disagreement.
    sample, scaling, disagreement
        F of the samples and of the scaling over disagreement, and of disagreement over the
        replicates (None without replicates).
    slopes
        Slope of each assessor on the panel means; 1 is the panel's own line.
    own_disagreement
        F of each assessor's disagreement over the replicates of all (None without replicates).
    """

    squares: dict[str, float]
    sample: FixedTest
    scaling: FixedTest
    disagreement: FixedTest | None
    slopes: Vector
    own_disagreement: tuple[FixedTest, ...] | None


def mixed_assessor_model(layout: ScoreLayout) -> Scaling | str:
    """Split the assessor-by-sample interaction of a balanced session.

    ``y = mu + a_i + nu_j + b_i x_j + d_ij + e`` where ``x_j`` is the panel mean of sample j
    about the grand mean. It is a diagnosis and read only where the samples differ: it shows
    whether assessors disagree or merely use the line differently. A slope at or below zero is
    disagreement, not scale. Five samples and two replicates are the least to read much in it.

    Parameters
    ----------
    layout
        Scores of one descriptor.

    Returns
    -------
    Scaling or str
        The decomposition, or the reason in words why there is none.

    Notes
    -----
    Brockhoff, Schlich & Skovgaard (2015), Food Quality and Preference: slope
    ``1 + b_i = sum_j (y_ij. - y_i..) x_j / sum x^2``,
    ``SS_scaling = K sum b_i^2 sum x_j^2`` on I - 1 degrees of freedom, and disagreement the
    rest on (I - 1)(J - 2).

    Examples
    --------
    >>> tables = [[[20, 24], [40, 44], [60, 60], [30, 34]],
    ...           [[35, 37], [45, 45], [54, 56], [41, 41]],
    ...           [[10, 16], [50, 44], [72, 70], [22, 30]],
    ...           [[30, 28], [38, 46], [58, 62], [40, 34]]]
    >>> i, j, _ = np.indices((4, 4, 2)).reshape(3, -1)
    >>> y = np.array(tables, dtype=float).ravel()
    >>> found = mixed_assessor_model(ScoreLayout(tuple("ABCD"), tuple("wxyz"), i, j, y))
    >>> round(found.sample.f, 3), round(found.scaling.f, 3), round(found.disagreement.f, 3)
    (256.005, 41.303, 0.774)
    """
    reason = _unfit(layout)
    if reason:
        return reason
    k = layout.replicates or 1
    i, j = layout.n_assessors, layout.n_samples
    anova = two_way_mixed(layout)
    own = layout.means - layout.means.mean(axis=1, keepdims=True)
    x = layout.means.mean(axis=0) - layout.means.mean()
    x_squares = float(x @ x)
    if x_squares <= 1e-20 * max(float(np.sum(layout.score**2)), 1e-300):
        return "the panel means of the samples are all the same"
    slopes = own @ x / x_squares
    scaling = float(k * np.sum((slopes - 1.0) ** 2) * x_squares)
    disagreement = anova.squares["interaction"] - scaling
    df_disagreement = (i - 1) * (j - 2)
    mean_square = disagreement / df_disagreement
    if disagreement <= 1e-12 * anova.squares["sample"]:
        return "the assessors' differences are exact multiples of one another"
    error = anova.squares["error"] / anova.df["error"] if anova.df["error"] else 0.0
    total = _f(mean_square, error, df_disagreement, anova.df["error"]) if error > 0 else None
    left = k * np.sum((own - slopes[:, None] * x) ** 2, axis=1) / (j - 2)
    each = tuple(_f(float(part), error, j - 2, anova.df["error"]) for part in left)
    return Scaling(
        squares={"scaling": scaling, "disagreement": disagreement},
        sample=_f(anova.mean_square("sample"), mean_square, j - 1, df_disagreement),
        scaling=_f(scaling / (i - 1), mean_square, i - 1, df_disagreement),
        disagreement=total,
        slopes=slopes,
        own_disagreement=each if error > 0 else None,
    )


def _unfit(layout: ScoreLayout) -> str | None:
    if layout.replicates is None:
        return "not every assessor scored every sample equally often"
    if layout.n_samples < 3:
        return "fewer than three samples"
    if layout.constant:
        return "every score is the same"
    return None


def _f(above: float, below: float, df_num: int, df_den: int) -> FixedTest:
    f = above / below if below > 0 else float("nan")
    p = f_upper(f, df_num, df_den)
    return FixedTest(f=f, df_num=float(df_num), df_den=float(df_den), p=p)
