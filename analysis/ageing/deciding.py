"""When an answer hangs on the years since a cask was nosed."""

from __future__ import annotations

import numpy as np
import scipy.special

from ..array_types import Flags, Floats

TURNS_BY = 0.2
"""A chance that goes up or down by this is another answer."""
LEAST_YEARS = 1.0


def deciding(
    mean: Floats,
    whole: Floats,
    grown: Floats,
    added: Floats,
    years: Floats,
    ends: tuple[Floats, Floats],
) -> Flags:
    """Which draws are so old that the answer hangs on them.

    The answer as the notes are by now is laid beside the one that they would have given as they
    were nosed: where the chance of all lines differs by `TURNS_BY` or more, the years since the
    draw decide, and a fresh draw is worth its while.

    Parameters
    ----------
    mean, whole
        Expected notes and their variances on the day, shape (n, lines).
    grown, added
        What of them is of the years since the draw, shape (n, lines).
    years
        Since each draw, shape (n,).
    ends
        Ends of the tolerances, infinite where there is none, each of shape (lines,).

    Notes
    -----
    Lines are taken as independent: it is the difference that counts.

    Examples
    --------
    >>> one = np.ones((2, 1))
    >>> grown, ends = np.array([[8.0], [0.5]]), (np.array([27.0]), np.array([33.0]))
    >>> deciding(30.0 * one, 4.0 * one, grown, one, np.array([5.8, 5.8]), ends).tolist()
    [True, False]
    """
    now = _chance(mean, whole, ends)
    nosed = _chance(mean - grown, np.maximum(whole - added, 1e-9), ends)
    return turned(now, nosed) & (years >= LEAST_YEARS)


def turned(now: Floats, nosed: Floats) -> Flags:
    """Which chances the years since the draw have made another answer, shape (n,)."""
    found: Flags = np.abs(now - nosed) >= TURNS_BY
    return found


def _chance(mean: Floats, variance: Floats, ends: tuple[Floats, Floats]) -> Floats:
    low, high = ends
    sd = np.sqrt(np.maximum(variance, 1e-12))
    inside = scipy.special.ndtr((high - mean) / sd) - scipy.special.ndtr((low - mean) / sd)
    found: Floats = inside.prod(axis=1)
    return found
