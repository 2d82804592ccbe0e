"""A line over sessions through values that come in groups with levels of their own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...array_types import Vector
from ..indices.distributions import t_two_sided
from ..indices.layout import additive_levels

_LEAST_LEFT = 3
"""Values that must be left over once levels and slope are out."""


@dataclass(frozen=True)
class LevelsLine:
    """A line over sessions with a free level for each group of values.

    Attributes
    ----------
    sessions
        The sessions there are, by number.
    off
        Mean distance of each from the middles of its groups, about the middle of all.
    """

    sessions: np.ndarray
    off: Vector
    slope: float
    p: float


def fit_line(
    value: Vector, session: np.ndarray, group: np.ndarray, *, linked: bool = False
) -> LevelsLine | None:
    """Fit one slope over sessions to values in groups, a level of its own for each group.

    Values of one session may go wrong together; what they share is estimated, and t has two
    degrees of freedom less than there are sessions.

    Parameters
    ----------
    value, session, group
        One entry a value; groups coded 0 ... without gaps.
    linked
        Whether the groups share sessions enough to be set against each other for `off`; else
        each is taken about its own middle.

    Returns
    -------
    Line or None
        None when no group spans enough sessions to tell a slope from levels.

    Examples
    --------
    A step between two groups is no slope:

    >>> step = np.array([1.0, 2, 1, 2, 1, 2, 11, 12, 11, 12, 11, 12])
    >>> abs(fit_line(step, np.arange(12), np.repeat([0, 1], 6)).slope) < 0.1
    True
    """
    n_groups = int(group.max()) + 1
    size = np.bincount(group, minlength=n_groups)
    inside = session - (np.bincount(group, session, minlength=n_groups) / size)[group]
    xx = float(inside @ inside)
    sessions, at = np.unique(session, return_inverse=True)
    if xx <= 1e-9 or len(value) - n_groups - 1 < _LEAST_LEFT:
        return None
    slope = float(inside @ value) / xx
    levels = np.bincount(group, value - slope * session, minlength=n_groups) / size
    left = value - levels[group] - slope * session
    middles = _levels(value, at, group) if linked else np.bincount(group, value) / size
    off = np.bincount(at, value - middles[group]) / np.bincount(at)
    own, shared = _noise(left, inside, group, at)
    pulls = np.bincount(at, inside)
    se = float(np.sqrt(own * xx + shared * float(pulls @ pulls))) / xx
    df = min(len(sessions) - 2, len(value) - n_groups - 1)
    p = t_two_sided(slope / se, df) if se > 0.0 else 0.0
    return LevelsLine(sessions, off - off.mean(), slope, p)


def _levels(value: Vector, session: np.ndarray, group: np.ndarray) -> Vector:
    """Levels of the groups beside free sessions, by least squares."""
    table = np.full((int(group.max()) + 1, int(session.max()) + 1), np.nan)
    table[group, session] = value
    return additive_levels(table)


def _noise(
    left: Vector, inside: Vector, group: np.ndarray, session: np.ndarray
) -> tuple[float, float]:
    """Variance of each value's own noise and of what the values of one session share.

    By moments: the squares of what the line leaves over, singly and summed by session, are set
    to what they are expected to be.
    """
    n, n_groups, n_sessions = len(left), int(group.max()) + 1, int(session.max()) + 1
    squares = float(left @ left)
    df = n - n_groups - 1.0
    together = np.bincount(session, minlength=n_sessions)
    if together.max() == 1:
        return squares / df, 0.0
    by_group = np.zeros((n_sessions, n_groups))
    np.add.at(by_group, (session, group), 1.0)
    by_group /= np.sqrt(np.bincount(group, minlength=n_groups))
    by_line = np.bincount(session, inside) / np.linalg.norm(inside)
    free = np.diag(together.astype(float)) - by_group @ by_group.T - np.outer(by_line, by_line)
    sums = np.bincount(session, left)
    one, two = float(np.trace(free)), float(np.sum(free**2))
    expected = np.array([[df, one], [one, two]])
    if np.linalg.det(expected) <= 1e-9 * df * two:
        return squares / df, 0.0
    own, shared = np.linalg.solve(expected, [squares, float(sums @ sums)])
    if shared <= 0.0 or own <= 0.0:
        return squares / df, 0.0
    return float(own), float(shared)
