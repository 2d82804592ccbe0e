"""How the casks of a house are spread about what is foretold of them, as the house itself shows.

The fit takes them for normal. Where few casks are far better than the rest, it then draws those
too near to the others while they were hardly nosed, and what deciding costs looks too small. A
handful of shapes stands to choose from; each counts by how likely it makes what the glasses told,
the normal most before anything was told, so that few casks say little.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import scipy.special

from ..array_types import Floats, Matrix, Vector

GRID: Vector = np.linspace(-9.0, 9.0, 241)
"""Deviations from what is foretold, in standard deviations between casks."""
_STEP = float(GRID[1] - GRID[0])
FEWEST = 8
"""Nosed casks below which a shape is not asked for."""
_NORMAL = 0.5
"""What the normal counts for before anything was told; the others share the rest."""
_SKEWS = (0.7, 1.2, 2.0)
_UPPER, _WITHIN = (0.2, 0.5, 0.8), (0.06, 0.19)
"""Of two groups of casks the share of the upper, and of the variance that is within them."""
_WIDTHS = ((0.8, 0.25), (1.0, 0.5), (1.25, 0.25))
"""What the spread may truly be, over that of the fit, and what each counts for beforehand."""
_ODD = 0.02
"""Of any shape, the share of casks that are of none."""
STANDS_OUT = 0.15
"""Share of the casks that stand out from what their records foretell."""
USUAL, STANDING_OUT = 0.6, 3.27
"""Variance of the usual ones and of those, over what is foretold; the two make it up. What the
records do not tell is no normal: few casks are much better than any of their kind."""
_FURTHER, _FURTHER_BY = 0.05, 1.8
"""Share of nosed casks that may stand out further than the spread of the house, and how much: with
more of them two groups would run into one another."""
_EDGE = 0.2
"""A spread with an edge is blurred by so much: the fit's own numbers are not known better."""


def spread_of(place: Vector, known: Vector) -> Vector:
    """Density of the casks of a house on `GRID`, each shape by how likely it is.

    Parameters
    ----------
    place
        Of each nosed cask the posterior mean of a normal spread, in its standard deviations.
    known
        Share of the variance that its glasses took away, within 0 and 1.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> sure = np.full(200, 0.9)
    >>> [bool(skew_of(spread_of(0.9 * cask, sure)) > 0.8)
    ...  for cask in (rng.normal(size=200), rng.gamma(1.0, 1.0, 200) - 1.0)]
    [False, True]
    """
    shapes, before = _shapes()
    if len(place) < FEWEST:
        normal: Vector = shapes[0]
        return normal
    told = likely(place, known)
    logs = np.log(before) + np.log(np.maximum(told @ shapes.T, 1e-300)).sum(axis=0)
    weight = np.exp(logs - logs.max())
    found: Vector = (weight / weight.sum()) @ shapes
    return found


def likely(place: Vector, known: Vector) -> Matrix:
    """How likely each deviation of `GRID` makes what the glasses told, (casks, grid)."""
    noise = (1.0 - known) / known
    told = np.clip(place / known, GRID[0], GRID[-1])
    found: Matrix = np.exp(-0.5 * (told[:, None] - GRID) ** 2 / noise[:, None])
    return found


def stretched(density: Vector) -> Vector:
    """A spread of which few stand out further than it tells."""
    return (1.0 - _FURTHER) * density + _FURTHER * _wider(density, _FURTHER_BY)


def skew_of(density: Vector) -> float:
    """Skewness of a density on `GRID`."""
    mean = density @ GRID
    sd = np.sqrt(density @ (GRID - mean) ** 2)
    return float(density @ ((GRID - mean) / sd) ** 3)


@cache
def _shapes() -> tuple[Matrix, Vector]:
    """The shapes on `GRID`, in every width, the first the plain normal; and their shares."""
    skewed = [_standard(_blurred(_gamma(skew))) for skew in _SKEWS]
    groups = [_two_groups(share, within) for share in _UPPER for within in _WITHIN]
    others = [*skewed, *(shape[::-1] for shape in skewed), _heavy(), *groups]
    one = (1.0 - _NORMAL) / len(others)
    each = [(_standard(_normal()), _NORMAL), *((shape, one) for shape in others)]
    odd = _wider(_heavy(), 1.5)
    shapes = [_normal() / _normal().sum()]
    before = [1e-9]
    for shape, share in each:
        shapes += [(1.0 - _ODD) * _wider(shape, width) + _ODD * odd for width, _ in _WIDTHS]
        before += [share * part for _, part in _WIDTHS]
    return np.array(shapes), np.array(before)


def _normal(mean: float = 0.0, variance: float = 1.0) -> Vector:
    found: Vector = np.exp(-0.5 * (GRID - mean) ** 2 / variance) / np.sqrt(variance)
    return found


def _heavy() -> Vector:
    """A few stand out on either side."""
    usual, out = (_normal(variance=variance) for variance in (USUAL, STANDING_OUT))
    return _standard((1.0 - STANDS_OUT) * usual + STANDS_OUT * out)


def _two_groups(share: float, within: float) -> Vector:
    """Two groups, the upper of so many casks, by so much of the variance within each."""
    apart = np.sqrt((1.0 - within) / (share * (1.0 - share)))
    low, high = _normal(-share * apart, within), _normal((1.0 - share) * apart, within)
    return _standard((1.0 - share) * low + share * high)


def _gamma(skew: float) -> Vector:
    """A gamma of mean 0, variance 1 and some skewness."""
    shape = (2.0 / skew) ** 2
    at = shape + np.sqrt(shape) * GRID
    logs = scipy.special.xlogy(shape - 1.0, np.maximum(at, 0.0)) - at - scipy.special.gammaln(shape)
    found: Vector = np.where(at > 0.0, np.exp(np.minimum(logs, 50.0)), 0.0)
    return found


def _blurred(density: Vector) -> Vector:
    steps = np.arange(-20, 21) * _STEP
    found: Vector = np.convolve(density, np.exp(-0.5 * (steps / _EDGE) ** 2), "same")
    return found


def _standard(density: Vector) -> Vector:
    """Of mean 0, variance and sum 1."""
    density = density / density.sum()
    mean = density @ GRID
    sd = np.sqrt(density @ (GRID - mean) ** 2)
    return _at(density, mean + sd * GRID)


def _wider(density: Vector, times: float) -> Vector:
    return _at(density, GRID / times)


def _at(density: Vector, places: Floats) -> Vector:
    there: Vector = np.interp(places, GRID, density, left=0.0, right=0.0)
    found: Vector = there / there.sum()
    return found
