"""Chance that casks lie within every tolerance where their house shows that they are not normal."""

from __future__ import annotations

import numpy as np
import scipy.special

from ..array_types import Matrix, Vector
from ..profile.bends import Bends
from .candidates import Candidates
from .chance import HOPELESS, chance_within

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
"""Of a standard normal: what all casks share is taken in by quadrature."""


def chance_bent(
    candidates: Candidates, bends: Bends, low: Vector, high: Vector, seed: int
) -> Vector:
    """Chance of each cask to lie between some bounds on every line.

    Parameters
    ----------
    bends
        Those of the candidates.
    low, high
        Ends of the tolerances, shape (lines,); infinite where there is none.
    seed
        As in :func:`analysis.target.chance.chance_within`.

    Notes
    -----
    Each line by itself is exact as of the day it was nosed: its own error is a bent normal, what
    all casks share a normal beside it; what years since then added is bent with it. Lines go
    together as their normals do, but for those of a cask that is far off on one of them.
    """
    least, most = (_normal(candidates, bends, end) for end in (low, high))
    alone = np.maximum(scipy.special.ndtr(most) - scipy.special.ndtr(least), 0.0)
    found: Vector = alone.prod(axis=1)
    near = np.flatnonzero(alone.min(axis=1) >= HOPELESS)
    whole = candidates.covariance[near]
    sd = np.sqrt(np.maximum(np.einsum("idd->id", whole), 1e-18))
    together = whole / (sd[:, :, None] * sd[:, None, :])
    found[near] = chance_within(np.zeros_like(least[near]), together, least[near], most[near], seed)
    return found


def _normal(candidates: Candidates, bends: Bends, end: Vector) -> Matrix:
    """The standard normals below which as much lies as of each line below an end."""
    sd = np.sqrt(np.maximum(np.einsum("idd->id", candidates.own), 1e-18))
    level = _NODES[:, None] * np.sqrt(candidates.common)
    places = (end - candidates.estimate - level[:, None, :]) / sd
    below = scipy.special.ndtr(bends.normal_at(places))
    share = (_WEIGHTS[:, None, None] * below).sum(axis=0) / _WEIGHTS.sum()
    found: Matrix = scipy.special.ndtri(np.clip(share, 0.0, 1.0))
    return found
