"""Were lines left blank where there was little to score? Then the means are too high."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..indices.additive import additive
from ..indices.layout import ScoreLayout

_LEAST_BLANKS = 4
_FAR = 1.88
"""Three times in a hundred notes by chance."""


@dataclass(frozen=True)
class LowBlanks:
    """Blanks that lie on glasses which others score low.

    Attributes
    ----------
    n
        How many.
    below
        How far the others put these glasses below the rest of the same trays, in units of the
        scale.
    """

    n: int
    below: float


def low_blanks(layout: ScoreLayout, blanks: pd.DataFrame) -> LowBlanks | None:
    """Say whether blanks hang on the level of the glass; None where they do not.

    Parameters
    ----------
    layout
        Scores of one descriptor.
    blanks
        Lines of test glasses left blank on it, with assessor and sample.

    Returns
    -------
    LowBlanks or None

    Notes
    -----
    Under the null each assessor's blanks are any of the assessor's glasses; the sum of the
    panel's means over the blanks then has the mean and the variance of drawing without
    replacement, summed over assessors.

    Examples
    --------
    >>> table = np.add.outer(np.zeros(6), [5.0, 10.0, 60.0, 70.0])
    >>> i, j = np.nonzero(np.add.outer(np.zeros(6), [1, 1, 1, 1]) - (np.arange(24).reshape(6, 4)
    ...                   % 4 == 0) * (np.arange(6)[:, None] > 0))
    >>> layout = ScoreLayout(tuple("ABCDEF"), tuple("wxyz"), i, j, table[i, j])
    >>> blank = pd.DataFrame({"assessor": list("BCDEF"), "sample": "w"})
    >>> low_blanks(layout, blank).n
    5
    """
    if len(blanks) < _LEAST_BLANKS:
        return None
    columns = dict(zip(layout.samples, additive(layout.means).columns, strict=True))
    counts = layout.counts
    seen = excess = variance = 0.0
    for name, rows in blanks.groupby("assessor"):
        left = [columns[sample] for sample in rows["sample"] if sample in columns]
        scored: list[float] = []
        if name in layout.assessors:
            own = counts[layout.assessors.index(str(name))].astype(int)
            scored = list(np.repeat(list(columns.values()), own))
        every = np.array([*left, *scored])
        if len(left) == 0 or len(every) < 2:
            continue
        n, total = len(left), len(every)
        seen += n
        excess += float(np.sum(left)) - n * float(every.mean())
        variance += n * (total - n) / (total - 1.0) * float(every.var())
    if seen < _LEAST_BLANKS or variance <= 0.0 or excess > -_FAR * np.sqrt(variance):
        return None
    return LowBlanks(int(seen), -excess / seen)


def never_scored(layout: ScoreLayout, blanks: pd.DataFrame) -> tuple[str, ...]:
    """Samples whose every line was left blank: no figure of the descriptor knows of them.

    Examples
    --------
    >>> layout = ScoreLayout(("A", "B"), ("w", "x"), [0, 0, 1, 1], [0, 1, 0, 1], [1., 2., 1., 3.])
    >>> never_scored(layout, pd.DataFrame({"assessor": ["A", "A"], "sample": ["x", "y"]}))
    ('y',)
    """
    if not len(blanks):
        return ()
    return tuple(sorted(set(blanks["sample"].astype(str)) - set(layout.samples)))
