"""When an answer hangs on how a cask has changed since it was nosed, and not on its nosing."""

from __future__ import annotations

from analysis.array_types import Flags, Floats

DECIDES_SHARE = 0.25
"""From this share of the doubt on, what a fresh draw would tell may turn the answer."""
LEAST_YEARS = 1.0
SETTLED = 0.95
"""An answer this sure, one way or the other, hangs on nothing."""


def share_of_doubt(added: Floats, whole: Floats, within: Floats) -> Floats:
    """Share of what is in doubt about an answer that comes from the years since each draw.

    Parameters
    ----------
    added
        Variance that moving its notes added to the answer, shape (casks, lines).
    whole
        Variance of the answer, everything in it, shape (lines,) or (casks, lines).
    within
        Chance of each line to be within tolerance: lines that are sure count for nothing. In the
        shape of `whole`.

    Examples
    --------
    >>> import numpy as np
    >>> one = np.ones(2)
    >>> share_of_doubt(np.array([[6.0, 0.0]]), 10.0 * one, np.array([0.6, 1.0])).round(2).tolist()
    [0.6]
    """
    missed = 1.0 - within
    total = missed.sum(axis=-1, keepdims=True)
    weight = missed / (total + 1e-12)
    found: Floats = (added / (whole + 1e-12) * weight).sum(axis=-1)
    return found


def deciding(share: Floats, years: Floats, chance: Floats | float) -> Flags:
    """Which draws are so old that the answer hangs on them.

    Parameters
    ----------
    share
        See :func:`share_of_doubt`.
    years
        Since each draw.
    chance
        Of the answer: one that is settled either way hangs on no draw.
    """
    open_still = (chance < SETTLED) & (chance > 1.0 - SETTLED)
    found: Flags = (share >= DECIDES_SHARE) & (years >= LEAST_YEARS) & open_still
    return found
