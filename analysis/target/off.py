"""How far casks are off a target: the one home of what nearer and further means.

A cask is off by the root of the weighted mean square of its lines, each counted in its own
tolerances. Told in points, a tolerance counts for what one of a single line does, with several
lines for the root of their weighted harmonic mean square.
"""

from __future__ import annotations

import numpy as np
import scipy.special

from ..array_types import Floats, Matrix, Stack, Vector
from ..house_line import on_the_line
from .lines import lines_of
from .target import Target

_LARGE = 1e3
"""Shape from which a gamma's root is had by its series: the functions would lose digits."""


def squared_off(target: Target, scores: Floats) -> Floats:
    """Weighted mean square of how far scores are off, in tolerances; shape (..., lines) to (...).

    Examples
    --------
    >>> from oakpanel.analysis.target import Target, TargetLine
    >>> fen = Target("Fen", (TargetLine("smoke", 40, 5), TargetLine("plum", 20, 10)))
    >>> squared_off(fen, np.array([[45.0, 20.0], [40.0, 50.0]])).tolist()
    [0.5, 4.5]
    """
    aim, tolerance, weight = lines_of(target)
    found: Floats = ((on_the_line(scores) - aim) / tolerance) ** 2 @ weight
    return found


def points_a_tolerance(target: Target) -> float:
    """What one tolerance off counts in points.

    Examples
    --------
    >>> from oakpanel.analysis.target import Target, TargetLine
    >>> points_a_tolerance(Target("Fen", (TargetLine("smoke", 40, 5),)))
    5.0
    """
    _, tolerance, weight = lines_of(target)
    return float(1.0 / np.sqrt(np.sum(weight / tolerance**2)))


def points_off(target: Target, scores: Floats) -> Floats:
    """How far scores are off a target, in points."""
    found: Floats = points_a_tolerance(target) * np.sqrt(squared_off(target, scores))
    return found


def moments_off(target: Target, mean: Matrix, covariance: Stack) -> tuple[Vector, Vector]:
    """How far normals are off a target on average, in points, and the variance of that.

    Parameters
    ----------
    mean, covariance
        Shapes (n, lines) and (n, lines, lines).

    Notes
    -----
    The squared length has mean q and variance v, both exact; with a gamma of these moments its
    root has the mean ``sqrt(q / k) G(k + 1/2) / G(k)``, ``k = q^2 / v``. On a single line that
    is exact on the aim, within a fiftieth one standard deviation off it and to the fourth digit
    from six on.

    Examples
    --------
    >>> from oakpanel.analysis.target import Target, TargetLine
    >>> high = Target("High", (TargetLine("smoke", 100, 5),))
    >>> off, variance = moments_off(high, np.array([[60.0]]), np.array([[[25.0]]]))
    >>> off.round(1).tolist(), variance.round(1).tolist()
    ([40.0], [24.6])
    """
    q, shape = _square(target, mean, covariance)
    lost, points = _lost(shape), points_a_tolerance(target)
    return points * np.sqrt(q * (1.0 - lost)), points**2 * q * lost


def below_off(target: Target, mean: Matrix, covariance: Stack, cut: Vector) -> Vector:
    """By how many points normals are nearer than a cut on average: ``E max(cut - off, 0)``.

    With the gamma of :func:`moments_off`, whose root is not below zero: a cask of which little is
    known is hardly ever right on several lines at once.

    Examples
    --------
    >>> from oakpanel.analysis.target import Target, TargetLine
    >>> high = Target("High", (TargetLine("smoke", 100, 5),))
    >>> at, unsure = np.array([[60.0]]), np.array([[[25.0]]])
    >>> below_off(high, at, unsure, np.array([40.0])).round(1).tolist()
    [2.0]
    """
    q, shape = _square(target, mean, covariance)
    k = np.clip(shape, 1e-6, 1e9)
    end = np.minimum((cut / points_a_tolerance(target)) ** 2 * k / np.maximum(q, 1e-300), 1e300)
    off, _ = moments_off(target, mean, covariance)
    inside = scipy.special.gammainc(k, end)
    nearer = np.where(inside > 0.0, cut * inside, 0.0)
    found: Vector = np.maximum(nearer - off * scipy.special.gammainc(k + 0.5, end), 0.0)
    return found


def draws_off(
    target: Target, mean: Matrix, covariance: Stack, times: Matrix, rng: np.random.Generator
) -> Matrix:
    """Draw how far normals are off, in points, each by itself; shape (n, casks).

    By the root of the gamma of :func:`moments_off`: quicker than to draw every line.

    Parameters
    ----------
    times
        What the covariance of each cask counts in each draw, shape (n, casks); few values.
    """
    shape, scale = np.empty_like(times), np.empty_like(times)
    for factor in np.unique(times):
        q, k = _square(target, mean, factor * covariance)
        k = np.clip(k, 1e-3, 1e8)
        here = times == factor
        shape[here] = np.broadcast_to(k, times.shape)[here]
        scale[here] = np.broadcast_to(q / k, times.shape)[here]
    found: Matrix = points_a_tolerance(target) * np.sqrt(rng.standard_gamma(shape) * scale)
    return found


def _square(target: Target, mean: Matrix, covariance: Stack) -> tuple[Vector, Vector]:
    """Mean of the squared length in tolerances, and the shape of its gamma."""
    aim, tolerance, weight = lines_of(target)
    by_line = weight / tolerance**2
    off = on_the_line(mean) - aim
    pulled = covariance * by_line
    q = off**2 @ by_line + np.trace(pulled, axis1=-2, axis2=-1)
    slope = off * by_line
    v = 2.0 * np.einsum("...ij,...ji->...", pulled, pulled)
    v = v + 4.0 * np.einsum("...i,...ij,...j->...", slope, covariance, slope)
    return q, q**2 / np.maximum(v, 1e-300)


def _lost(shape: Vector) -> Vector:
    """``1 - m^2 / q``: how much of the mean square is spread, of the root of a gamma."""
    k = np.maximum(shape, 1e-12)
    small = np.minimum(k, _LARGE)
    ratio = np.exp(scipy.special.gammaln(small + 0.5) - scipy.special.gammaln(small))
    series = 0.25 / k - 0.03125 / k**2
    found: Vector = np.where(k > _LARGE, series, 1.0 - ratio**2 / small)
    return found
