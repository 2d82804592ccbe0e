"""The top of a log-likelihood over log variances, by steps that know how curved it is."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from ..array_types import Matrix, Vector
from ..errors import FitError

ENOUGH = 1e-7
"""Gain that a step has to promise: variances are then known to a thousandth of their errors."""
FARTHEST = 3.0
"""Most that a log variance moves in one step."""
_LEAST_CURVED, _LEAST_MET = 1e-3, 0.05
_REMEMBERED, _NEAR = 5, 3.0
_HALVINGS = 12

T = TypeVar("T")


@dataclass(frozen=True)
class Place(Generic[T]):
    """What is known at some log variances: value, its slopes and curvature, and what was found.

    The curvature, shape (m, m), is that of minus the value, roughly, and never below nothing.
    """

    at: Vector
    value: float
    slope: Vector
    curvature: Matrix
    found: T


def climbed(
    place: Callable[[Vector], Place[T]],
    start: Vector,
    bounds: tuple[float, float],
    steps: int,
    enough: float = ENOUGH,
) -> Place[T]:
    """Go up from `start` within bounds, until no step promises to gain enough.

    Raises
    ------
    FitError
        There is no solution at the start.
    """
    now, walked = place(np.clip(start, *bounds)), _Walked()
    for _ in range(steps):
        step = _uphill(now, walked.corrected(now.curvature), bounds)
        if 0.5 * float(now.slope @ step) < enough:
            break
        better = _farther(place, now, step, bounds)
        if better is None:
            break
        walked.went(now, better)
        now = better
    return now


class _Walked:
    """The last steps with what the slopes did on them, which the curvature has to agree with."""

    def __init__(self) -> None:
        self._last: deque[tuple[Vector, Vector]] = deque(maxlen=_REMEMBERED)

    def went(self, before: Place[T], then: Place[T]) -> None:
        """Remember a step that is of the top already: elsewhere slopes tell of another place."""
        step, fell = then.at - before.at, before.slope - then.slope
        if then.value - before.value <= _NEAR:
            self._last.append((step, fell))

    def corrected(self, curvature: Matrix) -> Matrix:
        """The curvature, with that along the last steps as it was met (Broyden, Fletcher, Goldfarb
        & Shanno 1970)."""
        found = curvature + _LEAST_CURVED * np.eye(len(curvature))
        for step, fell in self._last:
            along = found @ step
            said, met = float(step @ along), float(step @ fell)
            if met > _LEAST_MET * said:
                found = found - np.outer(along, along) / said + np.outer(fell, fell) / met
        return found


def _uphill(now: Place[T], curvature: Matrix, bounds: tuple[float, float]) -> Vector:
    """Newton's step, of what is free to go the way of its slope."""
    low, high = bounds
    free = ~((now.at <= low) & (now.slope < 0.0) | (now.at >= high) & (now.slope > 0.0))
    step = np.zeros_like(now.at)
    if free.any():
        step[free] = np.linalg.solve(curvature[np.ix_(free, free)], now.slope[free])
    longest = float(np.abs(step).max(initial=0.0))
    return step * min(1.0, FARTHEST / max(longest, FARTHEST))


def _farther(
    place: Callable[[Vector], Place[T]], now: Place[T], step: Vector, bounds: tuple[float, float]
) -> Place[T] | None:
    """The first place along a step that lies higher; each try goes half as far."""
    for halving in range(_HALVINGS):
        at = np.clip(now.at + 0.5**halving * step, *bounds)
        try:
            then = place(at)
        except FitError:
            continue
        if then.value > now.value:
            return then
    return None
