"""What is left when columns are taken out of readings: makes, batches, casks, and known noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..array_types import Codes, Matrix, Vector


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


class Remainder:
    """What is left when the columns are taken out: makes, batches, casks, noise of readings."""

    def __init__(
        self, y: Vector, x: Matrix, noise: Vector, nest: Nest, *, with_makes: bool = False
    ) -> None:
        from scipy.optimize import minimize

        self.y, self.noise, self.nest = y, noise, nest
        residual = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
        total = max(float(residual.var()), 1e-6)
        floor = np.log(1e-4 * total)
        n_levels = 3 if with_makes else 2
        found = minimize(
            lambda log_variances: self._at(np.exp(log_variances), x)[0],
            np.log(np.array([0.5, 0.2, 0.1])[:n_levels] * total),
            method="L-BFGS-B",
            bounds=[(floor, floor + 14.0)] * n_levels,
        )
        self.variances: Vector = np.exp(found.x)

    @property
    def spread(self) -> float:
        """Standard deviation of one filling's reading about the model, within its batch."""
        return float(np.sqrt(self.variances[0] + self.noise.mean()))

    def solve(self, x: Matrix) -> tuple[Vector, Matrix]:
        """Return coefficients and their covariance; `x` spans what the variances stand on."""
        _, beta, covariance = self._at(self.variances, x)
        return beta, covariance

    def share_of_makes(self, x: Matrix) -> float:
        """Share of the last column's error variance that comes from makes' own differences."""
        with_them = float(self._at(self.variances, x)[2][-1, -1])
        without = float(self._at(self.variances[:2], x)[2][-1, -1])
        return float(np.clip(1.0 - without / with_them, 0.0, 1.0))

    def _at(self, variances: Vector, x: Matrix) -> tuple[float, Vector, Matrix]:
        """Minus twice the restricted log-likelihood, with coefficients and covariance."""
        own = 1.0 / (self.noise + variances[0])
        full = np.column_stack([x, self.y, np.ones(len(x))])
        weighted = full * own[:, None]
        sums = self.nest.sums(weighted)
        of_batch, sums = sums[:, -1], sums[:, :-1]
        kept = 1.0 / (1.0 + variances[1] * of_batch)
        cross = full[:, :-1].T @ weighted[:, :-1]
        cross -= sums.T @ (sums * (variances[1] * kept)[:, None])
        log_det = -float(np.log(own).sum() + np.log(kept).sum())
        if len(variances) > 2:
            of_make = np.bincount(self.nest.make, of_batch * kept)
            parts = np.zeros((self.nest.n_makes, sums.shape[1]))
            np.add.at(parts, self.nest.make, sums * kept[:, None])
            less = 1.0 / (1.0 + variances[2] * of_make)
            cross -= parts.T @ (parts * (variances[2] * less)[:, None])
            log_det -= float(np.log(less).sum())
        covariance = np.linalg.inv(cross[:-1, :-1])
        beta = covariance @ cross[:-1, -1]
        left = float(cross[-1, -1] - cross[:-1, -1] @ beta)
        return log_det - float(np.linalg.slogdet(covariance)[1]) + left, beta, covariance
