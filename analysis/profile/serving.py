"""The order of serving as terms of a fit: the place on the tray, and the smoke before it.

Two columns ``x`` a glass, their effects ``b`` drawn to nothing by what is thought of them before
looking (see :mod:`analysis.order`). They stand beside a solved system instead of in it: with P of
the system and ``b ~ N(0, B)``::

    P_b = P - P x C x' P        C = (s^2 B^-1 + x' P x)^-1

so a round costs one more solution a column, whatever the size of the house. Each effect moves with
``b`` as the system's answer to x does, and that is all that not knowing b better adds to what is
uncertain. Where everybody had one order, x is told apart from the samples by nothing but what is
thought of both: then C is what it was before looking, and the samples' errors carry it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..array_types import Matrix, Vector
from ..order import Drawn, weighed
from .equations import Equations, Solution
from .slopes import Scores, of_term

NAMES = ("place", "smoke_before")
_LEAST_APART = 0.05
"""Of what places differ by, the part that they must differ by for one and the same sample."""
_LEAST_SQUARES = 1e-9
"""What is left of squares at least, of what there was: less is rounding."""
_PARTS = ("tau", "u", "gamma", "session", "own", "block", "cell", "left")


def _told_by_samples_themselves(system: Equations, columns: Matrix) -> bool:
    """Whether the same samples stood in so many places that these tell the order's effect.

    Where everybody had one order, casks that happen to stand by their smoke look like an effect of
    the place, and none is strong enough to give up what was thought of such effects.
    """
    sample, weight, place = system.layout.glasses.sample, system.weight, columns[:, 0]
    total = np.bincount(sample, weight, minlength=system.n)
    middle = np.bincount(sample, weight * place, minlength=system.n) / np.maximum(total, 1e-300)
    apart = float(np.sum(weight * (place - middle[sample]) ** 2))
    return apart >= _LEAST_APART * float(np.sum(weight * place**2))


@dataclass(frozen=True)
class Serving:
    """Terms of order beside a system.

    Attributes
    ----------
    columns
        ``x`` by glass; none where no order is on record.
    along
        What the system makes of each column.
    covariance
        Of ``b`` given the scores, in squared points.
    root
        Of ``C``, in units of ``s^2``.
    squares
        ``s^2``.
    """

    system: Equations
    columns: Matrix
    along: Sequence[Solution]
    covariance: Matrix
    root: Matrix
    squares: float

    @classmethod
    def of(cls, system: Equations, columns: Matrix, y: Vector, squares: float) -> Serving:
        """Say how surely the effects of some columns are known from these scores."""
        along = [system.solve(part) for part in columns.T]
        if not along:
            empty = np.empty((0, 0))
            return cls(system, columns, along, empty, empty, squares)
        pulled = np.column_stack([system.weight * one.left for one in along])
        information = columns.T @ pulled
        information = (information + information.T) / (2.0 * squares)
        tails = _told_by_samples_themselves(system, columns)
        found = weighed(Drawn.before_looking(), information, pulled.T @ y / squares, tails=tails)
        root: Matrix = np.linalg.cholesky(found.covariance / squares).astype(np.float64)
        return cls(system, columns, along, found.covariance, root, squares)

    def effect(self, y: Vector) -> Vector:
        """``b``, in points."""
        right = [float(one.left @ (self.system.weight * y)) for one in self.along]
        found: Vector = self.covariance @ np.array(right) / self.squares
        return found

    def named(self, y: Vector) -> tuple[dict[str, float], dict[str, float]]:
        """``b`` and its standard errors by the name of what it is of; empty without columns."""
        if not self.along:
            return {}, {}
        se = np.sqrt(np.diag(self.covariance))
        pairs = (self.effect(y).tolist(), se.tolist())
        effect, error = (dict(zip(NAMES, values, strict=True)) for values in pairs)
        return effect, error

    def solve(self, y: Vector) -> Solution:
        """Predict every effect with the order in the model."""
        found = self.system.solve(y)
        for b, one in zip(self.effect(y) if self.along else (), self.along, strict=True):
            parts = {name: getattr(found, name) - b * getattr(one, name) for name in _PARTS}
            found = replace(found, mu=found.mu - b * one.mu, **parts)
        if not self.along:
            return found
        centred = y - np.average(y, weights=self.system.weight)
        squares = float(np.sum(self.system.weight * centred * found.left))
        least = _LEAST_SQUARES * float(np.sum(self.system.weight * centred**2))
        return replace(found, squares=max(squares, least))

    def moved(self, parts: Sequence[Vector], size: int) -> Matrix:
        """What a unit of each root of C does to something that each column has a part of."""
        along = np.column_stack(parts) if parts else np.empty((size, 0))
        found: Matrix = along @ self.root
        return found

    @cached_property
    def left(self) -> Matrix:
        """How what is fitted moves, by glass."""
        return self.moved([one.left for one in self.along], len(self.columns))

    @cached_property
    def tau(self) -> Matrix:
        """How the samples move."""
        return -self.moved([one.tau for one in self.along], self.system.n)

    @cached_property
    def own(self) -> Matrix:
        """How the own part of each block moves."""
        return -self.moved([one.own for one in self.along], self.system.layout.n_blocks)

    @property
    def fitted_variance(self) -> Vector:
        """What it adds to the variance of what is fitted, by glass, in units of ``s^2``."""
        found: Vector = np.sum(self.left**2, axis=1)
        return found

    @property
    def tau_variance(self) -> Vector:
        """What it adds to that of the samples."""
        found: Vector = np.sum(self.tau**2, axis=1)
        return found

    @property
    def tau_with_fitted(self) -> Vector:
        """What it adds to the covariance of a glass's sample with what is fitted."""
        found: Vector = np.sum(self.tau[self.system.layout.glasses.sample] * self.left, axis=1)
        return found

    def of_term(self, name: str) -> Matrix:
        """``Z' P x`` times the root: what the terms of order and another one share."""
        size = len(of_term(self.system, self._scores[0], name)) if self.along else 0
        return self.moved([of_term(self.system, one, name) for one in self._scores], size)

    @cached_property
    def _scores(self) -> list[Scores]:
        return [Scores.of(self.system, one) for one in self.along]
