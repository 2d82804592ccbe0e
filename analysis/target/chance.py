"""Chance that correlated normals all lie between their bounds."""

from __future__ import annotations

import numpy as np
import scipy.special

from ..array_types import Floats

_POINTS = 509
_LEAST = 1e-12
_AT_ONCE = 32
"""Rows reckoned together, as many as stay near the processor."""
HOPELESS = 0.0005
"""A cask with a line this unlikely is far off: its lines are then taken as independent."""


def chance_within(
    mean: Floats, covariance: Floats, low: Floats, high: Floats, seed: int = 1
) -> Floats:
    """Probability that each row lies within all its bounds.

    Each variable in turn is held within its bounds given the ones before it, which are drawn
    there on a shifted lattice (Genz 1992): with one variable, or none correlated, the answer
    is exact.

    Parameters
    ----------
    mean
        Shape (n, d).
    covariance
        Shape (n, d, d).
    low, high
        Bounds, shape (d,) or (n, d); infinite where there is none.
    seed
        Of the lattice.

    Examples
    --------
    >>> import numpy as np
    >>> both = np.array([[[1.0, 0.5], [0.5, 1.0]]])
    >>> none, end = np.zeros(2), np.full(2, np.inf)
    >>> found = chance_within(np.zeros((1, 2)), both, none, end)
    >>> bool(abs(found[0] - (0.25 + np.arcsin(0.5) / (2.0 * np.pi))) < 1e-3)
    True
    """
    n, d = mean.shape
    low, high = (np.broadcast_to(end, mean.shape)[:, :, None] for end in (low, high))
    root, points, found = _root(covariance), _lattice(d, seed), np.empty(n)
    for start in range(0, n, _AT_ONCE):
        some = slice(start, start + _AT_ONCE)
        found[some] = _within(mean[some], root[some], low[some], high[some], points)
    return found


def _within(mean: Floats, root: Floats, low: Floats, high: Floats, points: Floats) -> Floats:
    n, d = mean.shape
    drawn = np.zeros((n, d, _POINTS))
    chance = np.ones((n, _POINTS))
    for k in range(d):
        given = mean[:, k, None] + np.einsum("nj,njp->np", root[:, k, :k], drawn[:, :k])
        scale = np.maximum(root[:, k, k, None], 1e-9)
        start = scipy.special.ndtr((low[:, k] - given) / scale)
        width = np.maximum(scipy.special.ndtr((high[:, k] - given) / scale) - start, 0.0)
        chance *= width
        if k == d - 1:  # nothing hangs on the last
            break
        inside = np.clip(start + points[:, k] * width, _LEAST, 1.0 - _LEAST)
        drawn[:, k] = scipy.special.ndtri(inside)
    found: Floats = chance.mean(axis=1)
    return found


def _lattice(d: int, seed: int) -> Floats:
    """Points spread evenly over the unit cube, shape (points, d), folded at the middle.

    Steps are the roots of primes (Richtmyer 1951), the start is random.
    """
    primes = _primes(d)
    shift = np.random.default_rng(seed).random(d)
    steps = np.arange(1, _POINTS + 1)[:, None] * np.sqrt(primes) + shift
    found: Floats = np.abs(2.0 * (steps % 1.0) - 1.0)
    return found


def _primes(count: int) -> Floats:
    found: list[int] = []
    candidate = 2
    while len(found) < count:
        if all(candidate % prime for prime in found):
            found.append(candidate)
        candidate += 1
    return np.array(found, dtype=np.float64)


def _root(covariance: Floats) -> Floats:
    """Lower root of each matrix, one that is barely positive mended by a little."""
    d = covariance.shape[1]
    size = np.trace(covariance, axis1=1, axis2=2)[:, None, None] / d
    found: Floats = np.linalg.cholesky(covariance + (1e-10 * size + 1e-18) * np.eye(d))
    return found
