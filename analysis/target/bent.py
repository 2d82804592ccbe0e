"""Chance that casks lie within every tolerance where their house shows that they are not normal."""

from __future__ import annotations

from typing import Protocol

import numpy as np
import scipy.special

from ..array_types import Codes, Floats, Matrix, Stack, Vector
from ..profile.bends import Bends
from .chance import HOPELESS, chance_within

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
"""Of a standard normal: what all casks share is taken in by quadrature."""
_LEVEL_AT_MOST = 4.0
"""Standard deviations that what all casks share may move a cask; it does so further in .00003."""


class OnLines(Protocol):
    """Casks on the lines of a target."""

    @property
    def estimate(self) -> Matrix:
        """Points, shape (n, lines)."""

    @property
    def own(self) -> Stack:
        """Covariance of each cask's own error over the lines, shape (n, lines, lines)."""

    @property
    def common(self) -> Vector:
        """Variance of the error that all casks share on each line."""

    @property
    def bends(self) -> Bends | None:
        """How the casks' own errors are spread; None where they count as normal."""


def chance_bent(
    casks: OnLines,
    bends: Bends,
    low: Vector,
    high: Vector,
    seed: int,
    rows: Codes | None = None,
) -> Vector:
    """Chance of each cask to lie between some bounds on every line.

    Parameters
    ----------
    casks
        As their spread has them (:meth:`analysis.profile.bends.Bends.shaped`).
    bends
        Those of the casks.
    low, high
        Ends of the tolerances, shape (lines,); infinite where there is none.
    seed
        As in :func:`analysis.target.chance.chance_within`.
    rows
        Which cask of the bends each is: one may stand there on many days. Each once by default.

    Notes
    -----
    Each line by itself is exact as of the day it was nosed: its own error is a bent normal, what
    all casks share a normal beside it; what years since then added is bent with it. Lines go
    together as their normals do, but for those of a cask that is far off on one of them. Where
    that is sure at first sight, what all casks share is bent with the rest, and the chance is
    held to what it can be at most.
    """
    mean, own, common = casks.estimate, casks.own, casks.common
    which = np.arange(len(mean)) if rows is None else rows
    variance = np.maximum(np.einsum("idd->id", own), 1e-18)
    sd, level = np.sqrt(variance), np.sqrt(common)
    off = np.stack([end - mean for end in (low, high)])
    most = _LEVEL_AT_MOST * level
    far = bends.beyond((off[0] - most) / sd, (off[1] + most) / sd, which).any(axis=1)
    alone = np.empty(mean.shape)
    whole = np.sqrt(variance[far] + common)
    alone[far] = _between(bends.normal_at(off[:, far] / whole, which[far]))
    rest = np.flatnonzero(~far)
    ranges = np.stack([_normal(bends, end[rest], sd[rest], level, which[rest]) for end in off])
    alone[rest] = _between(ranges)
    found: Vector = alone.prod(axis=1)
    found[far] = np.minimum(found[far], HOPELESS)
    some = np.flatnonzero(alone[rest].min(axis=1, initial=1.0) >= HOPELESS)
    near = rest[some]
    covariance = own[near] + np.diag(common)
    scale = np.sqrt(np.einsum("idd->id", covariance))
    together = covariance / (scale[:, :, None] * scale[:, None, :])
    centre = np.zeros((len(near), mean.shape[1]))
    found[near] = chance_within(centre, together, ranges[0, some], ranges[1, some], seed)
    return found


def _between(normals: Floats) -> Matrix:
    """What lies between standard normals, the lower before the upper."""
    below = scipy.special.ndtr(normals)
    found: Matrix = np.maximum(below[1] - below[0], 0.0)
    return found


def _normal(bends: Bends, off: Matrix, sd: Matrix, level: Vector, rows: Codes) -> Matrix:
    """The standard normals below which as much lies as of each line below an end."""
    places = (off - (_NODES[:, None] * level)[:, None, :]) / sd
    below = scipy.special.ndtr(bends.normal_at(places, rows))
    share = (_WEIGHTS[:, None, None] * below).sum(axis=0) / _WEIGHTS.sum()
    found: Matrix = scipy.special.ndtri(np.clip(share, 0.0, 1.0))
    return found
