"""Independent columns of factors: they hang on the draws alone, and serve all descriptors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Matrix, Vector
from .factor_columns import independent


@dataclass(frozen=True, eq=False)
class Beside:
    """What is asked beside all else.

    Attributes
    ----------
    rest
        Independent columns of all else.
    basis
        Independent columns of both, those of all else first.
    """

    rest: Matrix
    basis: Matrix

    @property
    def size(self) -> int:
        """Columns that what is asked has of its own."""
        return int(self.basis.shape[1] - self.rest.shape[1])

    @property
    def x(self) -> Matrix:
        """All else as it stands, then what is asked."""
        return np.column_stack([self.rest, self.basis[:, self.rest.shape[1] :]])


class Bases:
    """Independent columns of some factors, `n` rows, each found once."""

    def __init__(self, columns: Mapping[str, Matrix], n: int) -> None:
        self.columns, self.n = columns, n
        self._known: dict[tuple[str, ...], Matrix] = {}
        self._beside: dict[tuple[object, ...], Beside] = {}

    def of(self, names: Sequence[str]) -> Matrix:
        """A level, and the columns of some factors."""
        key = tuple(names)
        if key not in self._known:
            every = [self.columns[name] for name in names]
            self._known[key] = independent(np.column_stack([np.ones((self.n, 1)), *every]))
        return self._known[key]

    def beside(self, asked: Sequence[str], own: Matrix, others: Sequence[str]) -> Beside:
        """What `asked` has beside `others`; `own` are its columns, or the first of them."""
        key = (tuple(asked), own.shape[1], tuple(others))
        if key not in self._beside:
            rest = self.of(others)
            self._beside[key] = Beside(rest, independent(np.column_stack([rest, own])))
        return self._beside[key]


def spans(of: Codes, values: Vector) -> Vector:
    """How far the values of each group lie apart; groups are codes from 0 without gaps.

    Examples
    --------
    >>> spans(np.array([0, 1, 0]), np.array([2.0, 5.0, 4.5])).tolist()
    [2.5, 0.0]
    """
    order = np.argsort(of, kind="stable")
    starts = np.flatnonzero(np.diff(of[order], prepend=-1))
    ordered = values[order]
    found: Vector = np.maximum.reduceat(ordered, starts) - np.minimum.reduceat(ordered, starts)
    return found
