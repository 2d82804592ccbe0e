"""How surely the first casks of a list are the nearest: they are drawn from their estimates."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..array_types import Codes, Matrix
from ..house_line import on_the_line
from .candidates import Candidates
from .lines import lines_of
from .result import CaskMatch
from .target import Target
from .verdict import Sureness

_FIRST = 8
_SURE = 0.9
_ALL_DRAWN = 500
"""So many casks are drawn however far off they are."""
_AS_FAR_AS = 4.0
"""Times their root mean square that the errors of two casks together hardly come to: one time in
ten thousand on a single line, less on more."""


def sureness(
    candidates: Candidates,
    target: Target,
    found: Sequence[CaskMatch],
    draws: int,
    seed: int,
) -> Sureness:
    """Draw the casks, in the order in which they were found, and see how it holds."""
    if not found:
        return Sureness(target.name, 0, 0, None, 0.0, 0.0, 0.0, 0, "")
    place = {name: i for i, name in enumerate(candidates.about["cask"])}
    order = np.array([place[part.cask] for part in found])
    first = min(_FIRST, len(order))
    distance = _drawn(candidates, target, _hopeful(candidates, target, order), draws, seed)
    nearest = distance.argmin(axis=1)
    further = (distance[:, 1:first] > distance[:, :1]).mean(axis=0)
    return Sureness(
        target=target.name,
        n_first=first,
        n_ranked=len(found),
        best=found[0].cask,
        best_probability=found[0].probability,
        best_is_best=float((nearest == 0).mean()),
        first_hold_best=float((nearest < first).mean()),
        n_distinguishable=int((further >= _SURE).sum()),
        worst_descriptor=found[0].worst_descriptor,
        alike=tuple(
            part.cask
            for part, sure in zip(found[1:first], further >= _SURE, strict=True)
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
    aim, tolerance, weight = lines_of(target)
    off = (on_the_line(candidates.estimate[order]) - aim) / tolerance
    off_by = np.sqrt(off**2 @ weight)
    error = (candidates.se[order] / tolerance) ** 2 @ weight
    near = off_by - off_by[0] <= _AS_FAR_AS * np.sqrt(error + error[0])
    near[:_FIRST] = True
    found: Codes = order[near]
    return found


def _drawn(candidates: Candidates, target: Target, order: Codes, draws: int, seed: int) -> Matrix:
    """How far each cask is off in each draw, (draws, casks)."""
    aim, tolerance, weight = lines_of(target)
    rng = np.random.default_rng(seed)
    values, vectors = np.linalg.eigh(candidates.own[order])
    root = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
    estimate, common = candidates.estimate[order], np.sqrt(candidates.common)
    distance = np.empty((draws, len(order)))
    for d in range(draws):
        error = np.einsum("njk,nk->nj", root, rng.standard_normal(root.shape[:2]))
        shared = rng.standard_normal(len(aim)) * common
        drawn = on_the_line(estimate + error + shared)
        distance[d] = ((drawn - aim) / tolerance) ** 2 @ weight
    return distance
