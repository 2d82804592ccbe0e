"""A step towards the lowest point of a smooth function."""

from __future__ import annotations

import numpy as np

from .array_types import Matrix, Vector


def step_above_zero(at: Vector, gradient: Vector, hessian: Matrix) -> Vector:
    """Newton step of variances: one at zero stays there as long as its slope holds it there.

    The step may lead below zero; whoever takes it cuts it off.

    Examples
    --------
    >>> step = step_above_zero(np.array([0.0, 1.0]), np.array([3.0, 4.0]), np.diag([1.0, 2.0]))
    >>> step.tolist()
    [0.0, -2.0]
    """
    free = (at > 0.0) | (gradient < 0.0)
    step = np.zeros_like(at)
    if free.any():
        step[free] = newton(gradient[free], hessian[np.ix_(free, free)])
    return step


def newton(gradient: Vector, hessian: Matrix) -> Vector:
    """Newton step; a direction along which nothing changes is left alone."""
    values, vectors = np.linalg.eigh(hessian)
    along = vectors.T @ gradient
    curved = values > 1e-12 * max(float(values[-1]), 1e-300)
    moves = np.where(curved, along / np.where(curved, values, 1.0), 0.0)
    found: Vector = -(vectors @ moves)
    return found
