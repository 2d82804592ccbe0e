"""Effects that are nested in groups: draws in a filling, evenings of an assessor.

With ``b = group + own``, ``var(group) = outer`` and ``var(own) = inner``, the covariance within
a group of k is ``inner I + outer 11'``. Its symmetric root has a closed form that stays right
when either variance is exactly zero::

    root = sqrt(inner) I + (sqrt(inner + k outer) - sqrt(inner)) / k 11'
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import scipy.sparse

from ..array_types import Codes, Matrix, Vector


@lru_cache(maxsize=8)
def _grouping(codes: bytes) -> tuple[scipy.sparse.csr_matrix, Vector]:
    """Groups by members, and members of each group; the same for every round of a fit."""
    group = np.frombuffer(codes, dtype=np.intp)
    n = len(group)
    table = scipy.sparse.csr_matrix(
        (np.ones(n), (group, np.arange(n))), shape=(int(group.max()) + 1, n)
    )
    return table, np.bincount(group).astype(np.float64)


@dataclass(frozen=True)
class Nested:
    """Covariance of effects nested in groups; `table` is groups by members, of ones."""

    inner: float
    outer: float
    group: Codes
    table: scipy.sparse.csr_matrix
    counts: Vector

    @classmethod
    def of(cls, inner: float, outer: float, group: Codes) -> Nested:
        """Members with the code of their group."""
        return cls(inner, outer, group, *_grouping(group.tobytes()))

    def root(self, rows: Matrix) -> Matrix:
        """Apply the root from the left, to a vector or to each column."""
        return self._apply(
            math.sqrt(self.inner), np.sqrt(self.inner + self.counts * self.outer), rows
        )

    def inverse_root(self, rows: Matrix) -> Matrix:
        """Apply the inverse of the root from the left; `inner` must be above zero."""
        whole = 1.0 / np.sqrt(self.inner + self.counts * self.outer)
        return self._apply(1.0 / math.sqrt(self.inner), whole, rows)

    def _apply(self, own: float, whole: Vector, rows: Matrix) -> Matrix:
        """`whole` times the mean of each group, `own` times what is left of each member."""
        found: Matrix = own * rows
        if self.outer == 0.0:
            return found
        shared = (whole - own) / self.counts
        totals = self.totals(rows)
        found += ((shared if rows.ndim == 1 else shared[:, None]) * totals)[self.group]
        return found

    def totals(self, rows: Matrix) -> Matrix:
        """Sum over the members of each group."""
        found: Matrix = self.table @ rows
        return found

    @property
    def inverse_diagonal(self) -> Vector:
        """Diagonal of the inverse covariance; `inner` must be above zero."""
        total = (self.inner + self.counts * self.outer)[self.group]
        found: Vector = (1.0 - self.outer / total) / self.inner
        return found

    @property
    def inverse_sum(self) -> float:
        """Sum of the entries of the inverse covariance within groups."""
        return float(np.sum(self.counts / (self.inner + self.counts * self.outer)))

    @property
    def diagonal(self) -> float:
        """Variance of each member."""
        return self.inner + self.outer

    def centred(self, information: Vector) -> tuple[Vector, float]:
        """Diagonal of ``C diag(information) C``, and its sum within groups.

        ``C`` takes the mean of all members out.
        """
        n, total = len(information), float(information.sum())
        own = information * (1.0 - 2.0 / n) + total / n**2
        share = self.counts / n
        within = self.totals(information) * (1.0 - 2.0 * share) + share**2 * total
        return own, float(within.sum())
