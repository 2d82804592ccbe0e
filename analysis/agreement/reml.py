"""Restricted maximum likelihood for crossed random factors.

The model is ``y = X b + Z_1 u_1 + ... + Z_k u_k + e`` with ``u_i ~ N(0, s_i^2 I)`` and
``e ~ N(0, s^2 I)``; each ``Z_i`` says which level of factor ``i`` a row belongs to. The factor
with most levels has a diagonal block of its own, so it is eliminated exactly; what is left is
a dense system no larger than the other factors together.

The deviance is profiled over ``s^2`` and minimised over the ratios ``g_i = s_i^2 / s^2`` by
average-information steps (Gilmour, Thompson & Cullis 1995) with step halving. A ratio may be
exactly zero: there its slope decides whether it stays. Two matrices appear throughout::

    V = I + sum g_i Z_i Z_i'          P = V^-1 - V^-1 X (X' V^-1 X)^-1 X' V^-1
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import scipy.linalg
import scipy.sparse
from numpy.typing import NDArray

from analysis.errors import FitError

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]
Codes = NDArray[np.intp]

_CHEAP_TRACE = 1e-3
"""Below this ratio the short formula for a trace loses digits by cancellation."""
_START = 0.3
_MAX_STEPS = 200
_MAX_HALVINGS = 40


@dataclass(frozen=True)
class Response:
    """One column of numbers, projected on a design once."""

    beta_plain: Vector
    y: Vector
    on_rest: Vector
    on_first: Vector
    squares: float


@dataclass(frozen=True)
class State:
    """Everything the deviance knows at one point; ``ratios`` in the design's own order."""

    ratios: Vector
    deviance: float
    squares: float
    a: Vector
    cross: Matrix
    inverse: Matrix
    scaled_inverse_diagonal: Vector
    effects: Vector


class CrossedDesign:
    """Rows, fixed columns and crossed factors, with all products that the fits share.

    Parameters
    ----------
    fixed
        Fixed columns, shape (n, p), of full column rank.
    factors
        For each random factor its name and the level of each row, coded 0 ... q-1 with every
        level in use.

    Examples
    --------
    Two glasses of each of three samples; the classical estimates are 2/3 for the residual and
    (MS_between - MS_within) / 2 = (8 - 2/3) / 2 between samples:

    >>> import numpy as np
    >>> design = CrossedDesign(np.ones((6, 1)), {"sample": np.array([0, 0, 1, 1, 2, 2])})
    >>> fit = design.fit(np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0]))
    >>> round(fit.components["sample"], 6), round(fit.residual, 6)
    (3.75, 0.5)
    """

    def __init__(self, fixed: Matrix, factors: Mapping[str, Codes]) -> None:
        if not factors:
            raise ValueError("at least one random factor is needed")
        self.fixed = np.asarray(fixed, dtype=np.float64)
        self.names = tuple(factors)
        self.n, self.p = self.fixed.shape
        self.degrees = self.n - self.p
        incidence = {name: _incidence(codes) for name, codes in factors.items()}
        self.order = tuple(sorted(factors, key=lambda name: -incidence[name].shape[1]))
        self.incidence = tuple(incidence[name] for name in self.order)
        self.levels = tuple(z.shape[1] for z in self.incidence)
        first, *others = self.incidence
        rest = scipy.sparse.hstack([*others, scipy.sparse.csr_matrix(self.fixed)]).tocsr()
        self.rest = rest
        self.counts = np.asarray(first.sum(axis=0)).ravel()
        self.rest_products = np.asarray((rest.T @ rest).todense(), dtype=np.float64)
        self.first_products = (first.T @ rest).tocsr()
        ends = np.cumsum((0, *self.levels[1:]))
        self.blocks = tuple(slice(int(a), int(b)) for a, b in pairwise(ends))
        self.random_size = int(ends[-1])

    def response(self, y: Vector) -> Response:
        """Project ``y`` on the design, its plain least-squares part taken out first."""
        y = np.asarray(y, dtype=np.float64)
        beta = np.asarray(np.linalg.lstsq(self.fixed, y, rcond=None)[0], dtype=np.float64)
        left = y - self.fixed @ beta
        return Response(
            beta_plain=beta,
            y=left,
            on_rest=np.asarray(self.rest.T @ left),
            on_first=np.asarray(self.incidence[0].T @ left),
            squares=float(left @ left),
        )

    def state(self, response: Response, ratios: Vector) -> State:
        """Deviance and inverse at one set of ratios.

        ``deviance = log|V| + log|X'V^-1 X| + d (1 + log(2 pi y'Py / d))`` with ``d = n - p``.
        """
        g = float(ratios[0])
        a = 1.0 + g * self.counts
        cross = self.rest_products
        if g > 0:
            weighted = self.first_products.multiply((g / a)[:, None]).tocsr()
            cross = cross - np.asarray((self.first_products.T @ weighted).todense())
        on_rest = response.on_rest - g * (self.first_products.T @ (response.on_first / a))
        scale = self._scale(ratios)
        m = scale[:, None] * cross * scale
        inner = np.arange(self.random_size)
        m[inner, inner] += 1.0
        factor = _cholesky(m)
        log_det = float(np.log(a).sum() + 2.0 * np.log(np.diag(factor)).sum())
        half = scipy.linalg.solve_triangular(
            factor, scale * on_rest, lower=True, check_finite=False
        )
        squares = response.squares - g * float(np.sum(response.on_first**2 / a)) - half @ half
        if squares <= 1e-14 * max(response.squares, 1e-300):
            raise FitError("The model leaves no residual at all: nothing is left to weigh by.")
        spread = 1.0 + np.log(2.0 * np.pi * squares / self.degrees)
        inverse = _inverse(factor)
        diagonal = np.diag(inverse).copy()
        inverse *= scale[:, None]
        inverse *= scale
        return State(
            ratios=ratios,
            deviance=log_det + self.degrees * float(spread),
            squares=float(squares),
            a=a,
            cross=cross,
            inverse=inverse,
            scaled_inverse_diagonal=diagonal,
            effects=inverse @ on_rest,
        )

    def slopes(self, response: Response, state: State) -> tuple[Vector, Matrix]:
        """Gradient and average-information Hessian of the deviance over the ratios.

        ``gradient_i = tr(P Z_i Z_i') - d |Z_i'Py|^2 / y'Py``; the Hessian replaces
        ``tr(P V_i P V_j)`` by its average over the data.
        """
        first_left = (response.on_first - self.first_products @ state.effects) / state.a
        rest_left = self._rest_left(response, state)
        w = [first_left, *(rest_left[block] for block in self.blocks)]
        lengths = np.array([part @ part for part in w])
        gradient = self._traces(state) - self.degrees * lengths / state.squares
        images = np.stack(
            [
                self.first_products.T @ (first_left / state.a),
                *(
                    state.cross[:, block] @ part
                    for block, part in zip(self.blocks, w[1:], strict=True)
                ),
            ],
            axis=1,
        )
        gram = np.empty((len(w), len(w)))
        for i, part in enumerate(w[1:], start=1):
            gram[i] = gram[:, i] = images[self.blocks[i - 1]].T @ part
        gram[0, 0] = np.sum(self.counts / state.a * first_left**2)
        gram = gram - images.T @ (state.inverse @ images)
        scaled = lengths / state.squares
        return gradient, self.degrees * (gram / state.squares - np.outer(scaled, scaled))

    def _scale(self, ratios: Vector) -> Vector:
        parts = [np.full(q, np.sqrt(g)) for q, g in zip(self.levels[1:], ratios[1:], strict=True)]
        return np.concatenate([*parts, np.ones(self.p)])

    def _rest_left(self, response: Response, state: State) -> Vector:
        """``U'Py`` for the columns that were not eliminated."""
        g = state.ratios[0]
        on_rest = response.on_rest - g * (self.first_products.T @ (response.on_first / state.a))
        left: Vector = on_rest - state.cross @ state.effects
        return left

    def _traces(self, state: State) -> Vector:
        """``tr(Z_i' P Z_i)`` for each factor."""
        a, products = state.a, self.first_products
        quadratic = products.multiply(np.asarray(products @ state.inverse)).sum(axis=1)
        first = np.sum(self.counts / a) - np.sum(np.asarray(quadratic).ravel() / a**2)
        found = [float(first)]
        for block, g, q in zip(self.blocks, state.ratios[1:], self.levels[1:], strict=True):
            if g > _CHEAP_TRACE:
                found.append(float((q - state.scaled_inverse_diagonal[block].sum()) / g))
            else:
                rows = state.cross[block]
                inner = np.sum((rows @ state.inverse) * rows)
                found.append(float(np.trace(rows[:, block]) - inner))
        return np.array(found)

    def fit(
        self,
        y: Vector,
        *,
        start: Mapping[str, float] | None = None,
        tolerance: float = 1e-19,
        restart: bool = True,
    ) -> CrossedFit:
        """Estimate the variance components.

        Parameters
        ----------
        y
            One number a row.
        start
            Ratios ``s_i^2 / s^2`` to start from.
        tolerance
            The search stops when the next step promises a smaller gain in deviance, per
            degree of freedom. The default leaves the ratios right to about 1e-7 of their
            standard errors.
        restart
            Try again from inside for each component that ended at zero; keep the better.

        Raises
        ------
        FitError
            If there are no degrees of freedom, no residual, or the search does not settle.
        """
        if self.degrees <= 0:
            raise FitError("There are no more scores than means to estimate.")
        response = self.response(y)
        floor = 1e-24 * max(float(np.square(y).sum()), 1e-300)
        if response.squares <= floor:
            raise FitError("All scores are equal once the means are taken out.")
        given = start or {}
        ratios = np.array([given.get(name, _START) for name in self.order])
        best = self._search(response, ratios, tolerance)
        if restart:
            for i in np.flatnonzero(best.ratios == 0.0):
                again = np.where(np.arange(len(ratios)) == i, _START, best.ratios)
                other = self._search(response, again, tolerance)
                if other.deviance < best.deviance - 1e-9:
                    best = other
        return CrossedFit(self, response, best)

    def _search(self, response: Response, ratios: Vector, tolerance: float) -> State:
        state = self.state(response, ratios)
        for _ in range(_MAX_STEPS):
            gradient, hessian = self.slopes(response, state)
            free = (state.ratios > 0.0) | (gradient < 0.0)
            step = np.zeros_like(state.ratios)
            if free.any():
                step[free] = _newton(gradient[free], hessian[np.ix_(free, free)])
            target = np.maximum(state.ratios + step, 0.0)
            gain = float(gradient @ (state.ratios - target))
            if gain <= tolerance * self.degrees:
                return state
            before, state = state, self._descend(response, state, step, gradient)
            if np.allclose(state.ratios, before.ratios, rtol=1e-11, atol=0.0):
                return state
        raise FitError("The variance components did not settle.")

    def _descend(self, response: Response, state: State, step: Vector, gradient: Vector) -> State:
        """Take the step, halved until the deviance falls (to within its rounding)."""
        slack = 1e-13 * (1.0 + abs(state.deviance))
        for _ in range(_MAX_HALVINGS):
            target = np.maximum(state.ratios + step, 0.0)
            trial = self.state(response, target)
            expected = float(gradient @ (target - state.ratios))
            if trial.deviance <= state.deviance + 1e-4 * min(expected, 0.0) + slack:
                return trial
            step = step / 2.0
        return state


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


def _incidence(codes: Codes) -> scipy.sparse.csr_matrix:
    codes = np.asarray(codes)
    rows = np.arange(len(codes))
    return scipy.sparse.csr_matrix(
        (np.ones(len(codes)), (rows, codes)), shape=(len(codes), int(codes.max()) + 1)
    )


def _cholesky(matrix: Matrix) -> Matrix:
    try:
        factor: Matrix = scipy.linalg.cholesky(matrix, lower=True, check_finite=False)
    except np.linalg.LinAlgError as error:
        raise FitError(
            "The fixed part cannot be told apart: two of its columns say the same."
        ) from error
    return factor


def _inverse(factor: Matrix) -> Matrix:
    lower, _ = scipy.linalg.lapack.dpotri(factor, lower=1)
    inverse: Matrix = np.tril(lower) + np.tril(lower, -1).T
    return inverse


def _newton(gradient: Vector, hessian: Matrix) -> Vector:
    """Solve for the Newton step; a little ridge keeps a flat direction from exploding."""
    ridge = 1e-12 * max(float(np.trace(hessian)), 1e-300)
    padded = hessian + ridge * np.eye(len(gradient))
    found: Vector = -np.asarray(np.linalg.solve(padded, gradient), dtype=np.float64)
    return found
