"""Crossed random factors: the system that restricted maximum likelihood is solved on.

The model is ``y = X b + Z_1 u_1 + ... + Z_k u_k + e`` with ``u_i ~ N(0, s_i^2 I)`` and
``e ~ N(0, s^2 I)``; each ``Z_i`` says which level of factor ``i`` a row belongs to. The factor
with most levels has a diagonal block of its own, so it is eliminated exactly; what is left is
a dense system no larger than the other factors together. With ``g_i = s_i^2 / s^2``, two
matrices appear throughout::

    V = I + sum g_i Z_i Z_i'          P = V^-1 - V^-1 X (X' V^-1 X)^-1 X' V^-1
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy.linalg
import scipy.sparse

from ...array_types import Codes, Matrix, Vector
from ...errors import FitError

_SMALL = 200_000
"""Up to so many numbers a full table is quicker than a sparse one."""
_CHEAP_TRACE = 1e-3
"""Below this ratio the short formula for a trace loses digits by cancellation."""


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
        self.first_products_t = self.first_products.T.tocsr()
        small = np.prod(self.first_products.shape) <= _SMALL
        self.first_dense = self.first_products.toarray() if small else None
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
            cross = cross - self._weighted_products(g / a)
        on_rest = response.on_rest - g * self._from_first(response.on_first / a)
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
        w = self.left(response, state)
        first_left = w[0]
        lengths = np.array([part @ part for part in w])
        gradient = self._traces(state) - self.degrees * lengths / state.squares
        images = np.stack(
            [
                self._from_first(first_left / state.a),
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

    def left(self, response: Response, state: State) -> list[Vector]:
        """``Z_i' P y`` for each factor, in elimination order."""
        first = (response.on_first - self.first_products @ state.effects) / state.a
        rest = self._rest_left(response, state)
        return [first, *(rest[block] for block in self.blocks)]

    def _from_first(self, values: Vector) -> Vector:
        """``U' Z_1 v`` for the columns U that were not eliminated."""
        table = self.first_products_t if self.first_dense is None else self.first_dense.T
        found: Vector = table @ values
        return found

    def _weighted_products(self, weights: Vector) -> Matrix:
        """``U' Z_1 diag(w) Z_1' U``."""
        if self.first_dense is not None:
            found: Matrix = self.first_dense.T @ (weights[:, None] * self.first_dense)
            return found
        weighted = self.first_products.multiply(weights[:, None]).tocsr()
        return np.asarray((self.first_products_t @ weighted).todense())

    def _quadratic(self, inverse: Matrix) -> Vector:
        """Diagonal of ``Z_1' U M U' Z_1``."""
        if self.first_dense is not None:
            found: Vector = np.sum(self.first_dense * (self.first_dense @ inverse), axis=1)
            return found
        products = self.first_products
        return np.asarray(products.multiply(np.asarray(products @ inverse)).sum(axis=1)).ravel()

    def _scale(self, ratios: Vector) -> Vector:
        parts = [np.full(q, np.sqrt(g)) for q, g in zip(self.levels[1:], ratios[1:], strict=True)]
        return np.concatenate([*parts, np.ones(self.p)])

    def _rest_left(self, response: Response, state: State) -> Vector:
        """``U'Py`` for the columns that were not eliminated."""
        g = state.ratios[0]
        on_rest = response.on_rest - g * self._from_first(response.on_first / state.a)
        left: Vector = on_rest - state.cross @ state.effects
        return left

    def _traces(self, state: State) -> Vector:
        """``tr(Z_i' P Z_i)`` for each factor."""
        a = state.a
        first = np.sum(self.counts / a) - np.sum(self._quadratic(state.inverse) / a**2)
        found = [float(first)]
        for block, g, q in zip(self.blocks, state.ratios[1:], self.levels[1:], strict=True):
            if g > _CHEAP_TRACE:
                found.append(float((q - state.scaled_inverse_diagonal[block].sum()) / g))
            else:
                rows = state.cross[block]
                inner = np.sum((rows @ state.inverse) * rows)
                found.append(float(np.trace(rows[:, block]) - inner))
        return np.array(found)


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
