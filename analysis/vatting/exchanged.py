"""One whole cask for another, as long as the vatting grows surer and stays as good by points."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ..array_types import Floats
from .chance import Stream
from .mixture import make_mixture, surely_fills
from .model import Model
from .solve import PROVEN_GAP, Found
from .stand_ins import nearest_fitting
from .task import Task
from .tighten import Tightened, chance_of, chosen_litres

_PARTS = 2000
"""Casks that are simulated in all, each answer that is tried with all of its own; what is there
then stays."""


def exchanged(task: Task, chosen: Tightened) -> Tightened:
    """Exchange casks of an answer one by one while the chance that it is right rises.

    Many choices miss the band by as little, and are not equally sure; the search for the least
    points takes any of them. Only whole casks are exchanged, and no exchange gives away what is
    proven of the points. Which is surer is told by the simulated vattings that choose.

    Parameters
    ----------
    task, chosen
        The question and its answer.
    """
    found = chosen.found
    if not found.model.whole or found.fractions is None:
        return chosen
    left = _PARTS
    best, chance = found, chance_of(task, found, Stream.CHOOSING) or 0.0
    while True:
        surer, left = _surest_exchange(task, best, chance, left)
        if surer is None:
            break
        best, chance = surer
    if best is found:
        return chosen
    rows, litres = chosen_litres(best)
    return replace(chosen, found=best, mixture=make_mixture(task, rows, litres))


def _surest_exchange(
    task: Task, found: Found, chance: float, left: int
) -> tuple[tuple[Found, float] | None, int]:
    """The exchange that helps most, and how many casks may still be simulated."""
    best: tuple[Found, float] | None = None
    most = max(found.objective, found.bound + PROVEN_GAP)
    for fractions in _exchanges(found.model, found.fractions, most):
        left -= int(np.count_nonzero(fractions))
        if left < 0:
            break
        other = replace(found, fractions=fractions, objective=found.model.objective(fractions))
        told = chance_of(task, other, Stream.CHOOSING) or 0.0
        if told > chance and surely_fills(make_mixture(task, *chosen_litres(other)), task.limits):
            best, chance = (other, told), told
    return best, left


def _exchanges(model: Model, now: Floats | None, most: float) -> Iterator[Floats]:
    """Give what one exchange makes of an answer, where it keeps all limits and the points."""
    if now is None:
        return
    for out in np.flatnonzero((now > 0.0) & ~model.forced):
        rest = now.copy()
        rest[out] = 0.0
        for into in nearest_fitting(model, rest, np.ones(model.n), int(out)):
            fractions = rest.copy()
            fractions[into] = 1.0
            if model.objective(fractions) <= most:
                yield fractions
