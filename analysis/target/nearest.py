"""How surely the first casks of a list are the nearest: they are drawn from their estimates."""

from __future__ import annotations

import numpy as np

from ..array_types import Codes, Matrix
from .candidates import Candidates
from .lines import lines_of
from .off import squared_off
from .result import CaskMatch
from .target import Target
from .verdict import Sureness

_FIRST = 8
_SURE = 0.9
_ALL_DRAWN = 500
"""So many casks are drawn however far off they are."""
_BENT = 400
"""So many of the first are drawn as the house spreads them; those further down by mean and sd."""
_AT_ONCE = 20
"""Draws made at once: more make no quicker, and take room."""
_AS_FAR_AS = 4.0
"""Times their root mean square that the errors of two casks together hardly come to: one time in
ten thousand on a single line, less on more."""


def sureness(
    candidates: Candidates,
    target: Target,
    order: Codes,
    first_of_all: CaskMatch | None,
    draws: int,
    seed: int,
) -> Sureness:
    """Draw the casks, in the order in which they were found, and see how it holds."""
    if first_of_all is None:
        return Sureness(target.name, 0, 0, None, 0.0, 0.0, 0.0, 0, "")
    first = min(_FIRST, len(order))
    distance = _drawn(candidates, target, _hopeful(candidates, target, order), draws, seed)
    nearest = distance.argmin(axis=1)
    further = (distance[:, 1:first] > distance[:, :1]).mean(axis=0)
    return Sureness(
        target=target.name,
        n_first=first,
        n_ranked=len(order),
        best=first_of_all.cask,
        best_probability=first_of_all.probability,
        best_is_best=float((nearest == 0).mean()),
        first_hold_best=float((nearest < first).mean()),
        n_distinguishable=int((further >= _SURE).sum()),
        worst_descriptor=first_of_all.worst_descriptor,
        alike=tuple(
            str(cask)
            for cask, sure in zip(
                candidates.about["cask"].iloc[order[1:first]], further >= _SURE, strict=True
            )
            if not sure
        ),
    )


def _hopeful(candidates: Candidates, target: Target, order: Codes) -> Codes:
    """The first casks of a list, and all further down that may be nearer than the first.

    With distances as lengths, no cask is nearer than its estimate by more than the length of its
    error, and none further off, on the line or held to it.
    """
    if len(order) <= _ALL_DRAWN:
        return order
    _, tolerance, weight = lines_of(target)
    off_by = np.sqrt(squared_off(target, candidates.estimate[order]))
    error = (candidates.se[order] / tolerance) ** 2 @ weight
    near = off_by - off_by[0] <= _AS_FAR_AS * np.sqrt(error + error[0])
    near[:_FIRST] = True
    found: Codes = order[near]
    return found


def _drawn(candidates: Candidates, target: Target, order: Codes, draws: int, seed: int) -> Matrix:
    """How far each cask is off in each draw, (draws, casks)."""
    rng = np.random.default_rng(seed)
    values, vectors = np.linalg.eigh(candidates.own[order])
    root = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
    estimate, common = candidates.estimate[order], np.sqrt(candidates.common)
    bends = None if candidates.bends is None else candidates.bends.only(order[:_BENT])
    sd = np.sqrt(np.maximum(np.einsum("idd->id", candidates.own[order[:_BENT]]), 1e-18))
    n, k = estimate.shape
    distance = np.empty((draws, n))
    for start in range(0, draws, _AT_ONCE):
        part = distance[start : start + _AT_ONCE]
        # Of each draw first every cask's own errors, then what all share.
        numbers = rng.standard_normal((len(part), n * k + k))
        own = numbers[:, : n * k].reshape(-1, n, k).transpose(1, 2, 0)
        drawn = (root @ own).transpose(2, 0, 1)
        if bends is not None:
            drawn[:, :_BENT] = bends.bent(drawn[:, :_BENT] / sd) * sd
        drawn += estimate + (numbers[:, None, n * k :] * common)
        part[:] = squared_off(target, drawn)
    return distance
