"""Sums of evidence that a level has changed: over every session at which it could have begun."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector
from .medians import row_medians

STEP_SD = 8.0
"""Points of the 0-100 line: how far people who move are expected to have moved."""
_CLIP = 2.5
"""No session counts for further than so many sd from the sessions around it."""
_AROUND = 2
_HIGHEST = 600.0
"""Of a logarithm: above it a double overflows."""
_MOST_ALIKE = 0.8


@dataclass(frozen=True)
class Spread:
    """How far a session's number strays.

    Attributes
    ----------
    sd
        In points, the wandering from session to session allowed for.
    plain
        The same before the wandering.
    alike
        By how much one session is like the one before, as far as that is more than chance.
    df
        Degrees of freedom that the sd is known by.
    """

    sd: float
    plain: float
    alike: float
    df: float


@dataclass(frozen=True)
class Starts:
    """Evidence for each start, the second session first.

    Attributes
    ----------
    factor
        Bayes factors for a step there, against none.
    step, step_sd
        How large the step would be, drawn towards none by the prior, and how sure.
    """

    factor: Vector
    step: Vector
    step_sd: Vector

    @property
    def evidence(self) -> float:
        """The sum of them: what is held against the limit."""
        return float(self.factor.sum())


def bayes_factor(difference: Vector, variance: Vector, step_sd: float = STEP_SD) -> Vector:
    """Evidence for a step of unknown size between two flat levels, against none.

    Parameters
    ----------
    difference
        Of the mean after the start from the mean before.
    variance
        Of that difference; infinite where it is not known, and then the factor is one.
    step_sd
        Prior sd of the step, about nought.

    Notes
    -----
    ``sqrt(v / (v + w^2)) exp(d^2 / 2 (1 / v - 1 / (v + w^2)))``: the level before is free and
    flat, the step normal. The sum over all starts falls short of a limit A for A sessions in
    the mean, where nothing moves (Pollak 1987, Annals of Statistics 15:749-779).

    Examples
    --------
    >>> bayes_factor(np.array([0.0, 16.0]), np.array([16.0, 16.0])).round(1).tolist()
    [0.4, 269.2]
    """
    known = np.isfinite(variance)
    v = np.where(known, variance, 1.0)
    both = v + step_sd * step_sd
    log = 0.5 * np.log(v / both) + 0.5 * difference**2 * (1.0 / v - 1.0 / both)
    factor: Vector = np.where(known, np.exp(np.minimum(log, _HIGHEST)), 1.0)
    return factor


def bayes_factor_by(
    difference: Vector, variance: Vector, df: float, step_sd: float = STEP_SD
) -> Vector:
    """The same evidence where the variance itself is known by few degrees of freedom only.

    Notes
    -----
    Student's densities stand for the normal ones:
    ``sqrt(v / (v + w^2)) ((1 + d^2 / (df v)) / (1 + d^2 / (df (v + w^2))))^((df + 1) / 2)``.
    With the normal ones a panel that stands still was called in .06 of houses, mostly soon after
    the tenth session (tests/bench/words_drift.py).

    Examples
    --------
    >>> few, many = (
    ...     float(bayes_factor_by(np.array([16.0]), np.array([16.0]), df)[0]) for df in (8, 1e6)
    ... )
    >>> round(few, 1), round(many, 1)
    (13.8, 269.1)
    """
    known = np.isfinite(variance)
    v = np.where(known, variance, 1.0)
    both = v + step_sd * step_sd
    more = np.log1p(difference**2 / (df * v)) - np.log1p(difference**2 / (df * both))
    log = 0.5 * np.log(v / both) + 0.5 * (df + 1.0) * more
    factor: Vector = np.where(known, np.exp(np.minimum(log, _HIGHEST)), 1.0)
    return factor


def contrasts(level: np.ndarray) -> tuple[Matrix, Vector]:
    """What takes values to after less before, a row a start, and what multiplies the variance.

    Values of one code in `level` share a flat level, of their own: a step just there is not seen,
    and its variance is infinite.
    """
    n = len(level)
    own = np.eye(int(level.max()) + 1)[level]
    late = np.arange(n)[None] >= np.arange(1, n)[:, None]
    apart = late - (late @ own / own.sum(axis=0)) @ own.T
    squares = (apart**2).sum(axis=1)
    seen = squares > 1e-9
    safe = np.where(seen, squares, 1.0)
    return np.where(seen[:, None], apart / safe[:, None], 0.0), np.where(seen, 1.0 / safe, np.inf)


def starts(
    value: Vector,
    level: np.ndarray,
    sd: float,
    lean: Matrix | None = None,
    df: float | None = None,
) -> Starts:
    """Weigh every start in a series; needs two values.

    `df` are those of the sd, where nothing else than the values tells it. `lean` has a row a value
    and a column for each thing that leans them by one sd of its own, such as what is not
    known of the width of a person's line where casks were chosen stronger.
    """
    across, times = contrasts(level)
    difference = across @ value
    variance = sd * sd * times
    if lean is not None:
        variance = variance + ((across @ lean) ** 2).sum(axis=1)
    w = STEP_SD * STEP_SD
    finite = np.where(np.isfinite(variance), variance, 1e12)
    return Starts(
        factor=bayes_factor(difference, variance)
        if df is None
        else bayes_factor_by(difference, variance, df),
        step=difference * w / (w + finite),
        step_sd=np.sqrt(finite * w / (w + finite)),
    )


def spread(value: Vector, level: np.ndarray, usual: float = 0.0, worth: float = 0.0) -> Spread:
    """Estimate how far a session strays, the likeliest step taken out.

    Parameters
    ----------
    usual, worth
        A variance that is known otherwise, and how many sessions that is worth.

    Notes
    -----
    Two levels and where they part are three things taken from the values. What is left is
    correlated with the session before; with what that falls short by on account of the levels
    given back, and one standard error taken off, r widens the variance by ``(1 + r) / (1 - r)``.
    """
    n = len(value)
    across, times = contrasts(level)
    at = int(np.argmax(np.abs(across @ value) / np.sqrt(times))) + 1
    late = (np.arange(n) >= at).astype(float)
    groups = np.eye(int(level.max()) + 1)[level]
    late = late - groups @ (groups.T @ late / groups.sum(axis=0))
    left = value - groups @ (groups.T @ value / groups.sum(axis=0))
    left = left - late * (float(late @ left) / max(float(late @ late), 1e-9))
    squares = float(left @ left)
    df = max(n - groups.shape[1] - 2.0, 1.0)
    variance = (squares + worth * usual) / (df + worth)
    alike = 0.0
    if squares > 1e-9:
        shown = float(left[1:] @ left[:-1]) / squares + 2.0 / n
        alike = float(np.clip(shown - 1.0 / np.sqrt(n), 0.0, _MOST_ALIKE))
    wide = variance * (1.0 + alike) / (1.0 - alike)
    return Spread(float(np.sqrt(wide)), float(np.sqrt(variance)), alike, df + worth)


def clipped(value: Vector, level: np.ndarray, sd: float) -> Vector:
    """Draw in a session that stands far from the running median of those around it."""
    n, reach = len(value), 2 * _AROUND + 1
    near = np.arange(n)[:, None] + np.arange(reach)[None] - _AROUND
    there = (near >= 0) & (near < n)
    near = np.clip(near, 0, n - 1)
    there &= level[near] == level[:, None]
    middle = row_medians(np.where(there, value[near], np.nan))
    found: Vector = np.clip(value, middle - _CLIP * sd, middle + _CLIP * sd)
    return found


def running(
    value: Vector,
    level: np.ndarray,
    sd: float,
    lean: Matrix | None = None,
    df: float | None = None,
) -> Vector:
    """Sum of the evidence after each session; nought after the first."""
    found = np.zeros(len(value))
    for n in range(2, len(value) + 1):
        codes = np.unique(level[:n], return_inverse=True)[1]
        leaning = None if lean is None else lean[:n]
        found[n - 1] = starts(value[:n], codes, sd, leaning, df).evidence
    return found
