"""What the order of serving does to a score: the place on the tray and the smoke before it.

Both are terms of every fit, each drawn to nothing: left free they cost more than they give, and
testing for them first misses most of them. The columns and the draw are made here and nowhere
else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .array_types import Codes, Flags, Matrix, Vector

PLACE_SD = 0.8
"""Points of the house line that a glass further on may be off, before looking."""
CARRY_SD = 0.15
"""Points for one point of smoke in the glass before."""
SMOKE_WORDS = ("smoke", "smoky", "peat")
"""A note with one of them in its name tells how much smoke a glass had."""
_EDGE = 0.005
"""Of the line: a score within it is not pushed onto its end."""
_TAILS = 4.0
"""Degrees of freedom of what is thought before: a strong effect is drawn less than a weak one."""
_TURNS = 8
_ROUNDS = 60
_STILL = 1e-9


@dataclass(frozen=True)
class Drawn:
    """What place and smoke before are thought to do, and how surely.

    Attributes
    ----------
    mean
        Points a glass further on, and points for one of smoke before, shape (2,).
    covariance
        Of the two, shape (2, 2).
    """

    mean: Vector
    covariance: Matrix

    @classmethod
    def before_looking(cls, points: float = 1.0) -> Drawn:
        """Nothing, give or take; `points` is one point of the house line on the scale used."""
        spread = points * np.array([PLACE_SD, CARRY_SD])
        return cls(np.zeros(2), np.diag(spread**2))

    def times(self, points: float) -> Drawn:
        """The same on another scale."""
        return Drawn(points * self.mean, points**2 * self.covariance)

    def loosened(self, share: float, points: float = 1.0) -> Drawn:
        """As sure as it can be of another session, which need not be like these."""
        spread = Drawn.before_looking(points).covariance
        return Drawn(self.mean, self.covariance + share * spread)


def is_smoke(descriptor: str) -> bool:
    """Whether a note tells how much smoke there was."""
    name = descriptor.lower()
    return any(word in name for word in SMOKE_WORDS)


def order_columns(tray: Codes, position: Vector, smoke: Vector, session: Codes) -> Matrix:
    """Return what each glass has of place and of smoke before it, about its session's mean.

    Parameters
    ----------
    tray
        One assessor in one session.
    position
        Place on the tray; NaN where it is not on record.
    smoke
        Of each glass, in points of the house line; NaN where no such note was scored.
    session
        Of each glass.

    Returns
    -------
    numpy.ndarray
        Shape (glasses, 2); 0 where nothing is known, as before the first glass.

    Examples
    --------
    >>> one = np.zeros(3, dtype=np.intp)
    >>> order_columns(one, np.array([1.0, 3.0, 2.0]), np.array([40.0, 0.0, 10.0]), one).tolist()
    [[-1.0, 0.0], [1.0, -15.0], [0.0, 15.0]]
    """
    before = np.full(len(tray), np.nan)
    known = np.flatnonzero(~np.isnan(position))
    order = known[np.lexsort((position[known], tray[known]))]
    follows = tray[order[1:]] == tray[order[:-1]]
    before[order[1:][follows]] = smoke[order[:-1][follows]]
    return np.column_stack([_about_mean(part, session) for part in (position, before)])


def _about_mean(values: Vector, session: Codes) -> Vector:
    known = ~np.isnan(values)
    n = np.bincount(session, known)
    means = np.bincount(session, np.where(known, values, 0.0)) / np.maximum(n, 1.0)
    return np.where(known, values - means[session], 0.0)


def moved(score: Vector, x: Matrix, low: Vector, high: Vector) -> tuple[Matrix, Flags]:
    """Return the columns of scores that an order can have moved, and which those are.

    A score at an end of the line is where it is whatever came before.
    """
    inside: Flags = (score > low) & (score < high)
    return np.where(inside[:, None], x, 0.0), inside


def draw_to_nothing(y: Vector, x: Matrix, tray: Codes, sample: Codes, before: Drawn) -> Drawn:
    """Say what place and smoke before did in these scores, drawn to what was thought before.

    Parameters
    ----------
    y, x
        Scores and their columns.
    tray, sample
        Levels of both are taken out as they are, not drawn to anything.
    before
        What is thought before looking; almost always nothing, give or take.

    Returns
    -------
    Drawn

    Notes
    -----
    Posterior mean and covariance of b in ``y = tray + sample + x b + e``, b Student's about the
    mean with 4 degrees of freedom (by its normal weights, Lange, Little & Taylor 1989), the
    variance of e by least squares. Where the scores say nothing of it, as where trays are all
    alike, it is what it was before.

    Examples
    --------
    >>> tray, sample = np.repeat([0, 1], 3), np.array([0, 1, 2, 2, 1, 0])
    >>> place = np.tile([-1.0, 0.0, 1.0], 2)
    >>> y = 10.0 * sample - 2.0 * place + np.array([0.1, 0, -0.1, 0.1, -0.2, 0.1])
    >>> x = np.column_stack([place, np.zeros(6)])
    >>> draw_to_nothing(y, x, tray, sample, Drawn.before_looking()).mean.round(1).tolist()
    [-2.0, 0.0]
    """
    if not x.any():
        return before
    left = without_levels(np.column_stack([y, x]), tray, sample)
    gram = left.T @ left
    information, right = gram[1:, 1:], gram[1:, 0]
    values, vectors = np.linalg.eigh(information)
    free = values > 1e-6 * max(float((x**2).sum(axis=0).max()), 1e-12)
    along = vectors[:, free].T @ right
    df = len(y) - len(np.unique(tray)) - len(np.unique(sample)) + 1 - int(free.sum())
    if df < 1:
        return before
    noise = (gram[0, 0] - float(np.sum(along**2 / values[free]))) / df
    if not noise > 1e-12 * max(float(gram[0, 0]), 1e-12):
        noise = max(1e-6 * float(gram[0, 0]) / df, 1e-12)
    return weighed(before, information / noise, right / noise)


def weighed(before: Drawn, information: Matrix, right: Vector, *, tails: bool = True) -> Drawn:
    """What was thought before and what the scores say, weighed; a strong effect is held less.

    Of scores with noise variance v, `information` is ``x'x / v`` and `right` ``x'y / v``, all else
    taken out of both. Without `tails` what was thought before holds however strong the effect is:
    where little but the samples' own likenesses speaks for it, it may well be theirs.
    """
    spread, found = np.diag(before.covariance), before
    first, held = np.linalg.inv(before.covariance), np.ones(len(spread))
    for _ in range(_TURNS if tails else 1):
        if tails:
            off = (found.mean - before.mean) ** 2 + np.diag(found.covariance)
            held = np.sqrt((_TAILS + 1.0) / (_TAILS + off / spread))
        surely = first * np.outer(held, held)
        covariance = np.linalg.inv(surely + information)
        mean = covariance @ (surely @ before.mean + right)
        found = Drawn(mean, (covariance + covariance.T) / 2.0)
    return found


def without_levels(columns: Matrix, first: Codes, second: Codes) -> Matrix:
    """Take the levels of two groupings out of columns, by least squares, in turns."""
    left = columns.copy()
    n = [np.maximum(np.bincount(codes), 1.0) for codes in (first, second)]
    size = np.sqrt((left**2).sum(axis=0)) + 1e-300
    for _ in range(_ROUNDS):
        was = left
        for codes, counts in zip((first, second), n, strict=True):
            sums = np.stack([np.bincount(codes, part) for part in left.T], axis=1)
            left = left - (sums / counts[:, None])[codes]
        if np.all(np.sqrt(((left - was) ** 2).sum(axis=0)) < _STILL * size):
            break
    return left


def taken_out(score: Vector, x: Matrix, effect: Drawn, low: Vector, high: Vector) -> Vector:
    """Return the scores as they would stand in the middle of the tray, still inside the line."""
    shift, inside = moved(score, x, low, high)
    edge = _EDGE * (high - low)
    least, most = np.minimum(low + edge, score), np.maximum(high - edge, score)
    new = np.clip(score - shift @ effect.mean, least, most)
    return np.where(inside, new, score)
