"""What is left when columns are taken out of readings: makes, batches, casks, and known noise."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from ..array_types import Codes, Matrix, Vector
from .climb import Place, climbed

SHARES = (0.5, 0.2, 0.1)
"""Where the search begins: of what is left, that of casks, batches and makes."""
LEAST_SHARE = 1e-4
"""Of what is left, below which a variance is as good as none."""
SPAN = 14.0
"""Log variances between the least that is looked at and the most."""
STEPS = 40


@dataclass(frozen=True)
class Nest:
    """Fillings in batches in makes.

    Attributes
    ----------
    batch
        Batch of each filling, codes from 0.
    make
        Make of each batch, codes from 0.
    order, starts
        Rows sorted by batch, and where each batch begins among them.
    """

    batch: Codes
    make: Codes
    order: Codes
    starts: Codes

    @classmethod
    def of(cls, fillings: pd.DataFrame) -> Nest:
        """Read them from a frame; what is of no known batch or make is one of its own."""
        labels = fillings["batch"].fillna(fillings["filling"])
        batch = pd.factorize(labels)[0].astype(np.intp)
        first = fillings.assign(batch=labels).drop_duplicates("batch")
        make = pd.factorize(first["make"].fillna(first["batch"]))[0].astype(np.intp)
        order = np.argsort(batch, kind="stable").astype(np.intp)
        starts = np.searchsorted(batch[order], np.arange(len(first))).astype(np.intp)
        return cls(batch, make, order, starts)

    @property
    def n(self) -> int:
        """Number of fillings."""
        return len(self.batch)

    @cached_property
    def of_make(self) -> Matrix:
        """Which batches are of which make, ones and zeros, shape (batches, makes)."""
        found: Matrix = np.eye(self.n_makes)[self.make]
        return found

    @property
    def n_makes(self) -> int:
        """Number of makes."""
        return int(self.make.max()) + 1

    def sums(self, values: Matrix) -> Matrix:
        """Sums over the fillings of each batch."""
        found: Matrix = np.add.reduceat(values[self.order], self.starts, axis=0)
        return found

    def batch_means(self, values: Matrix) -> Matrix:
        """Means over the fillings of each batch."""
        found: Matrix = self.sums(values) / np.bincount(self.batch)[:, None]
        return found


@dataclass(frozen=True)
class _Solved:
    """The model at some variances, with what its slopes are made of.

    Attributes
    ----------
    deviance
        Minus twice the restricted log-likelihood.
    own
        Weight of each reading by its own noise and what is its cask's.
    within
        Sums of these weights, batch by batch.
    between
        What batches and makes take from ``X' W X``, shape (batches, batches).
    x_own, sums
        ``W X``, and its sums over batches.
    """

    deviance: float
    beta: Vector
    covariance: Matrix
    own: Vector
    within: Vector
    between: Matrix
    x_own: Matrix
    sums: Matrix


class Remainder:
    """What is left when the columns are taken out: makes, batches, casks, noise of readings.

    ``y = X b + make + batch + cask + noise``, the variances of makes, batches and casks by
    restricted likelihood (Patterson & Thompson 1971), climbed by average information (Gilmour,
    Thompson & Cullis 1995). With ``W`` the weights of the readings and ``Z`` their batches,
    ``V^-1 = W - W Z K Z' W`` where K is as small as the batches are few.
    """

    def __init__(
        self, y: Vector, x: Matrix, noise: Vector, nest: Nest, *, with_makes: bool = False
    ) -> None:
        self.y, self.noise, self.nest = y, noise, nest
        residual = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
        total = max(float(residual.var()), 1e-6)
        floor = float(np.log(LEAST_SHARE * total))
        start = np.log(np.array(SHARES[: 3 if with_makes else 2]) * total)
        found = climbed(
            lambda logs: self._place(np.exp(logs), x), start, (floor, floor + SPAN), STEPS
        )
        self.variances: Vector = np.exp(found.at)

    @property
    def spread(self) -> float:
        """Standard deviation of one filling's reading about the model, within its batch."""
        return float(np.sqrt(self.variances[0] + self.noise.mean()))

    def solve(self, x: Matrix) -> tuple[Vector, Matrix]:
        """Return coefficients and their covariance; `x` spans what the variances stand on."""
        found = self._solved(self.variances, x)
        return found.beta, found.covariance

    def share_of_makes(self, x: Matrix) -> float:
        """Share of the last column's error variance that comes from makes' own differences."""
        with_them = float(self._solved(self.variances, x).covariance[-1, -1])
        without = float(self._solved(self.variances[:2], x).covariance[-1, -1])
        return float(np.clip(1.0 - without / with_them, 0.0, 1.0))

    def _solved(self, variances: Vector, x: Matrix) -> _Solved:
        own = 1.0 / (self.noise + variances[0])
        x_own = x * own[:, None]
        within = np.asarray(np.bincount(self.nest.batch, own), dtype=np.float64)
        kept = variances[1] / (1.0 + variances[1] * within)
        between = np.diag(kept)
        log_det = -float(np.log(own).sum()) + float(np.log1p(variances[1] * within).sum())
        if len(variances) > 2:
            free = self.nest.of_make * (1.0 - kept * within)[:, None]
            told = np.bincount(self.nest.make, within * (1.0 - kept * within))
            less = variances[2] / (1.0 + variances[2] * told)
            between = between + (free * less) @ free.T
            log_det += float(np.log1p(variances[2] * told).sum())
        sums = self.nest.sums(x_own)
        of_y = np.bincount(self.nest.batch, own * self.y)
        cross = x.T @ x_own - sums.T @ between @ sums
        right = x_own.T @ self.y - sums.T @ (between @ of_y)
        covariance = np.linalg.inv(cross)
        beta = covariance @ right
        squares = float(own @ self.y**2 - of_y @ between @ of_y - right @ beta)
        log_det -= float(np.linalg.slogdet(covariance)[1])
        return _Solved(log_det + squares, beta, covariance, own, within, between, x_own, sums)

    def _place(self, variances: Vector, x: Matrix) -> Place[None]:
        """The likelihood with its slopes and average information, by log variances."""
        at = self._solved(variances, x)
        batch = self.nest.batch
        left = self._against(at, (self.y - x @ at.beta)[:, None])[:, 0]
        by_batch = np.bincount(batch, left)
        spread = [left, by_batch[batch]]
        if len(variances) > 2:
            spread.append(np.bincount(self.nest.make, by_batch)[self.nest.make[batch]])
        drawn = np.column_stack(spread)
        weighed = self._against(at, drawn)
        across = x.T @ weighed
        met = drawn.T @ weighed - across.T @ at.covariance @ across
        slope = -0.5 * (self._traces(at, len(variances)) - drawn.T @ left)
        curvature = 0.5 * met * np.outer(variances, variances)
        return Place(np.log(variances), -0.5 * at.deviance, slope * variances, curvature, None)

    def _against(self, at: _Solved, values: Matrix) -> Matrix:
        """``V^-1`` times some columns."""
        weighed = values * at.own[:, None]
        of_batches = at.between @ self.nest.sums(weighed)
        found: Matrix = weighed - at.own[:, None] * of_batches[self.nest.batch]
        return found

    def _traces(self, at: _Solved, n: int) -> Vector:
        """Traces of P with what each variance adds to V: casks, batches and makes."""
        squares = np.bincount(self.nest.batch, at.own**2)
        twice = self.nest.sums(at.x_own * at.own[:, None])
        taken = at.between @ at.sums
        mixed = twice.T @ taken
        whole = at.x_own.T @ at.x_own - mixed - mixed.T + taken.T @ (squares[:, None] * taken)
        of_casks = float(at.own.sum() - np.diag(at.between) @ squares)
        of_casks -= float((at.covariance * whole).sum())
        small = np.diag(at.within) - at.within[:, None] * at.between * at.within
        rows = at.sums - at.within[:, None] * taken
        small = small - rows @ at.covariance @ rows.T
        found = [of_casks, float(np.trace(small))]
        if n > 2:
            found.append(float((self.nest.of_make * (small @ self.nest.of_make)).sum()))
        return np.array(found)
