"""Restricted maximum likelihood for crossed random factors.

The deviance is profiled over the residual variance and minimised over the ratios of the other
components to it by average-information steps (Gilmour, Thompson & Cullis 1995) with step
halving. A ratio may be exactly zero: there its slope decides whether it stays.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse

from ...array_types import Matrix, Vector
from ...errors import FitError
from ...newton import step_above_zero
from .crossed import CrossedDesign, Response, State

_START = 0.3
_MAX_STEPS = 200
_LARGEST = 1e9
_MAX_HALVINGS = 40


@dataclass(frozen=True)
class CrossedFit:
    """Variance components, fixed effects and predicted random effects of one response."""

    design: CrossedDesign
    response: Response
    state: State

    @property
    def residual(self) -> float:
        """Residual variance, ``y'Py / (n - p)``."""
        return float(self.state.squares / self.design.degrees)

    @property
    def components(self) -> dict[str, float]:
        """Variance component of each factor, in the order the factors were given."""
        ratios = self.ratios
        return {name: ratios[name] * self.residual for name in self.design.names}

    @property
    def ratios(self) -> dict[str, float]:
        """Component over residual, for each factor."""
        found = dict(zip(self.design.order, self.state.ratios.tolist(), strict=True))
        return {name: found[name] for name in self.design.names}

    @property
    def log_likelihood(self) -> float:
        """Restricted log-likelihood, with its constants."""
        return -0.5 * self.state.deviance

    @property
    def beta(self) -> Vector:
        """Fixed effects, shape (p,)."""
        found: Vector = self.response.beta_plain + self.state.effects[self.design.random_size :]
        return found

    @property
    def beta_covariance(self) -> Matrix:
        """Covariance of the fixed effects, ``s^2 (X' V^-1 X)^-1``, shape (p, p)."""
        at = self.design.random_size
        found: Matrix = self.residual * self.state.inverse[at:, at:]
        return found

    @cached_property
    def _first_effects(self) -> Vector:
        g = self.state.ratios[0]
        left = self.response.on_first - self.design.first_products @ self.state.effects
        found: Vector = g * left / self.state.a
        return found

    def effects(self, name: str) -> Vector:
        """Predicted effect of each level of a factor."""
        at = self.design.order.index(name)
        if at == 0:
            return self._first_effects
        found: Vector = self.state.effects[self.design.blocks[at - 1]]
        return found

    def predict(
        self, fixed: Matrix, random: Mapping[str, scipy.sparse.csr_matrix]
    ) -> tuple[Vector, Vector]:
        """Predict sums of effects, with the variance of the prediction error.

        Parameters
        ----------
        fixed
            Weights of the fixed effects, shape (m, p).
        random
            Weights of the levels of some factors, sparse, shape (m, q).

        Returns
        -------
        tuple of numpy.ndarray
            Estimates and prediction error variances ``var(sum - estimate)``, shape (m,) each;
            the components are taken as known.
        """
        design, state = self.design, self.state
        weights = np.zeros((len(fixed), len(state.effects)))
        weights[:, design.random_size :] = fixed
        for name, part in random.items():
            at = design.order.index(name)
            if at > 0:
                weights[:, design.blocks[at - 1]] = part.toarray()
        estimate = weights @ state.effects + fixed @ self.response.beta_plain
        variance = np.zeros(len(fixed))
        first = random.get(design.order[0])
        if first is not None:
            shrink = state.ratios[0] / state.a
            estimate = estimate + first @ self._first_effects
            scaled = first.multiply(shrink).tocsr()
            weights -= (scaled @ design.first_products).toarray()
            variance += np.asarray(first.multiply(scaled).sum(axis=1)).ravel()
        variance += np.sum((weights @ state.inverse) * weights, axis=1)
        return estimate, self.residual * variance


def fit_reml(
    design: CrossedDesign,
    y: Vector,
    *,
    start: Mapping[str, float] | None = None,
    tolerance: float = 1e-19,
    restart: bool = True,
) -> CrossedFit:
    """Estimate the variance components.

    Parameters
    ----------
    design
        Fixed columns and random factors.
    y
        One number a row.
    start
        Ratios ``s_i^2 / s^2`` to start from.
    tolerance
        The search stops when the next step promises a smaller gain in deviance, per
        degree of freedom. The default leaves the ratios right to about 1e-9 of their
        standard errors.
    restart
        Try again from inside for each component that ended at zero; keep the better.

    Raises
    ------
    FitError
        If there are no degrees of freedom, no residual, or the search does not settle.

    Examples
    --------
    Two glasses of each of three samples; the classical estimates are MS_within = 1/2 for
    the residual and (MS_between - MS_within) / 2 = (8 - 1/2) / 2 between samples:

    >>> import numpy as np
    >>> design = CrossedDesign(np.ones((6, 1)), {"sample": np.array([0, 0, 1, 1, 2, 2])})
    >>> fit = fit_reml(design, np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0]))
    >>> round(fit.components["sample"], 6), round(fit.residual, 6)
    (3.75, 0.5)
    """
    if design.degrees <= 0:
        raise FitError("There are no more scores than means to estimate.")
    response = design.response(y)
    floor = 1e-24 * max(float(np.square(y).sum()), 1e-300)
    if response.squares <= floor:
        raise FitError("All scores are equal once the means are taken out.")
    given = start or {}
    ratios = np.array([given.get(name, _START) for name in design.order])
    best = _search(design, response, ratios, tolerance)
    if restart:
        for i in np.flatnonzero(best.ratios == 0.0):
            again = np.where(np.arange(len(ratios)) == i, _START, best.ratios)
            other = _search(design, response, again, tolerance)
            if other.deviance < best.deviance - 1e-9:
                best = other
    return CrossedFit(design, response, best)


def _search(design: CrossedDesign, response: Response, ratios: Vector, tolerance: float) -> State:
    state = design.state(response, ratios)
    for _ in range(_MAX_STEPS):
        gradient, hessian = design.slopes(response, state)
        step = step_above_zero(state.ratios, gradient, hessian)
        target = _allowed(state.ratios + step)
        gain = float(gradient @ (state.ratios - target))
        if gain <= tolerance * design.degrees:
            return state
        before, state = state, _descend(design, response, state, step, gradient)
        if np.allclose(state.ratios, before.ratios, rtol=1e-11, atol=0.0):
            return state
    raise FitError("The variance components did not settle.")


def _descend(
    design: CrossedDesign, response: Response, state: State, step: Vector, gradient: Vector
) -> State:
    """Take the step, halved until the deviance falls (to within its rounding)."""
    slack = 1e-13 * (1.0 + abs(state.deviance))
    for _ in range(_MAX_HALVINGS):
        target = _allowed(state.ratios + step)
        trial = design.state(response, target)
        expected = float(gradient @ (target - state.ratios))
        if trial.deviance <= state.deviance + 1e-4 * min(expected, 0.0) + slack:
            return trial
        step = step / 2.0
    return state


def _allowed(ratios: Vector) -> Vector:
    """Keep ratios at zero or above, and where they can still be reckoned with."""
    kept: Vector = np.clip(ratios, 0.0, _LARGEST)
    return kept
