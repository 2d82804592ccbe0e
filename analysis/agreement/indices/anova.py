"""Two-way mixed analysis of variance: samples fixed, assessors random."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .distributions import f_upper
from .layout import ScoreLayout
from .satterthwaite import FixedTest


@dataclass(frozen=True)
class TwoWay:
    """A balanced two-way mixed analysis of variance.

    Attributes
    ----------
    squares, df
        Sums of squares and degrees of freedom of sample, assessor, interaction and error.
    sample
        The sample effect, ``F = MS_sample / MS_interaction``; None when the interaction is
        zero, that is when all assessors gave exactly the same differences.
    interaction
        The interaction against the replicates; None without replicates.
    """

    squares: dict[str, float]
    df: dict[str, int]
    sample: FixedTest | None
    interaction: FixedTest | None

    def mean_square(self, source: str) -> float:
        """Sum of squares over degrees of freedom."""
        return self.squares[source] / self.df[source]


def two_way_mixed(layout: ScoreLayout) -> TwoWay:
    """Analyse a balanced table of assessors by samples, with or without replicates.

    Samples are fixed and assessors are drawn from all that might have nosed, so the sample
    effect is judged against the assessor-by-sample interaction. That F stands whether or not
    there are replicates. Choose it whenever each assessor scored each sample equally often.

    Parameters
    ----------
    layout
        Scores of one descriptor, the same number in each cell.

    Returns
    -------
    TwoWay

    Raises
    ------
    ValueError
        If the cells do not hold the same number of scores.

    Notes
    -----
    Scheffe, The Analysis of Variance (1959), chapter 8.

    Examples
    --------
    >>> layout = ScoreLayout(("A", "B"), ("x", "y"), np.array([0, 0, 1, 1]), np.array([0, 1, 0, 1]),
    ...                 np.array([10.0, 30.0, 20.0, 44.0]))
    >>> found = two_way_mixed(layout)
    >>> found.sample.f, found.interaction is None
    (121.0, True)
    """
    k = layout.replicates
    if k is None:
        raise ValueError("the cells do not hold the same number of scores")
    means, i, j = layout.means, layout.n_assessors, layout.n_samples
    grand = means.mean()
    columns, rows = means.mean(axis=0) - grand, means.mean(axis=1) - grand
    left = means - grand - columns - rows[:, None]
    squares = {
        "sample": float(i * k * np.sum(columns**2)),
        "assessor": float(j * k * np.sum(rows**2)),
        "interaction": float(k * np.sum(left**2)),
        "error": float(layout.within_squares.sum()),
    }
    df = {
        "sample": j - 1,
        "assessor": i - 1,
        "interaction": (i - 1) * (j - 1),
        "error": i * j * (k - 1),
    }
    return TwoWay(
        squares=squares,
        df=df,
        sample=_ratio(squares, df, "sample", "interaction"),
        interaction=_ratio(squares, df, "interaction", "error"),
    )


def cell_means_f(layout: ScoreLayout) -> FixedTest | None:
    """Sample effect on the means of the cells, where some cells may be empty.

    The additive model ``assessor + sample`` is fitted to the cell means with equal weights; F
    is what the samples explain beyond the assessors over what is left. Without holes it is the
    F of :func:`two_way_mixed` whatever the numbers of replicates.

    Returns
    -------
    FixedTest or None
        None when no degrees of freedom or no variation is left.
    """
    row, column = np.nonzero(layout.counts > 0)
    y = layout.means[row, column]
    rows = np.eye(layout.n_assessors)[row]
    both = np.hstack([rows, np.eye(layout.n_samples)[column]])
    rank_rows, left_rows = _left(rows, y)
    rank_both, left_both = _left(both, y)
    squares = {"sample": left_rows - left_both, "interaction": left_both}
    df = {"sample": rank_both - rank_rows, "interaction": len(y) - rank_both}
    return _ratio(squares, df, "sample", "interaction")


def _left(design: np.ndarray, y: np.ndarray) -> tuple[int, float]:
    beta, _, rank, _ = np.linalg.lstsq(design, y, rcond=None)
    return int(rank), float(np.sum((y - design @ beta) ** 2))


def _ratio(
    squares: dict[str, float], df: dict[str, int], above: str, below: str
) -> FixedTest | None:
    """F of one source over another; None when there is nothing to divide by."""
    if df[above] <= 0 or df[below] <= 0:
        return None
    floor = 1e-20 * max(sum(squares.values()), 1e-300)
    if squares[below] <= floor:
        return None
    f = max(squares[above] / df[above], 0.0) / (squares[below] / df[below])
    p = f_upper(f, df[above], df[below])
    return FixedTest(f=f, df_num=float(df[above]), df_den=float(df[below]), p=p)
