"""A small linear program solved again and again while bounds are drawn in.

Some thirty rows and as many columns as there are casks: the dual simplex method with a dense
tableau, steepest edges and bounds that are passed in one step (textbook: Koberstein 2005, The dual
simplex method, techniques for a fast and stable implementation). A new bound leaves the prices
right, so that the next answer is a few pivots away. Where rounding spoils anything, the general
solver answers instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

import numpy as np

from ..array_types import Flags, Floats, Ints

_HELD = 1e-9
"""How far a variable may lie beyond its bounds, rows scaled to a largest entry of 1."""
_PIVOT = 1e-8
_ALIKE = 1e-12
_MOST_PIVOTS = 5000
_AFRESH = 400
"""Pivots after which the tableau is made anew from the basis."""
_TRUE = 1e-7
_TRIED = 2


class _End(Enum):
    """Where pivots ended: all bounds hold, no column can mend a row, or rounding took over."""

    HELD = auto()
    BLOCKED = auto()
    LOST = auto()


@dataclass(frozen=True, eq=False)
class Solution:
    """An answer: what each column gives, and by row what a unit more of its limit changes.

    `x` is None where no answer keeps all hard rows.
    """

    x: Floats | None
    marginals: Floats
    value: float


class Simplex:
    """``min cost x``, ``matrix x <= limit``, bounds on x; the first rows yield at a price.

    Parameters
    ----------
    matrix, limit
        The rows, those of the band first.
    soft_weight
        What a unit beyond the limit costs, of each row of the band.
    cost
        Of each column, 0 or more.
    least, most
        Bounds of each column.
    """

    def __init__(
        self,
        matrix: Floats,
        limit: Floats,
        soft_weight: Floats,
        cost: Floats,
        least: Floats,
        most: Floats,
    ) -> None:
        self.rows, self.n = matrix.shape
        self.soft = len(soft_weight)
        size = np.abs(matrix).max(axis=1, initial=0.0)
        self.scale = np.where(size > 0.0, size, 1.0)
        self.limit = limit / self.scale
        one = np.eye(self.rows)
        self.matrix = np.hstack([matrix / self.scale[:, None], -one[:, : self.soft], one])
        weights = soft_weight * self.scale[: self.soft]
        self.cost = np.concatenate([cost, weights, np.zeros(self.rows)])
        self.slack = slice(self.n + self.soft, self.n + self.soft + self.rows)
        beyond = self.soft + self.rows
        self.low = np.concatenate([least, np.zeros(beyond)])
        self.high = np.concatenate([most, np.full(beyond, np.inf)])
        self.basis: Ints = np.arange(self.slack.start, self.slack.stop)
        self.basic = np.zeros(len(self.cost), dtype=np.bool_)
        self.basic[self.basis] = True
        self.up = np.zeros(len(self.cost), dtype=np.bool_)
        self.table, self.dear = self.matrix.copy(), self.cost.copy()
        self.value = self._values()

    def bound(self, least: Floats, most: Floats) -> None:
        """Draw the bounds of the columns in."""
        before = self._nonbasic()
        self.low[: self.n], self.high[: self.n] = least, most
        moved = self._nonbasic() - before
        where = np.flatnonzero(moved)
        if len(where):
            self.value -= self.table[:, where] @ moved[where]

    def solve(self) -> Solution | None:
        """Solve from where the last answer was; None where rounding spoilt it."""
        if np.any(self.low > self.high):
            return self._none()
        for tried in range(_TRIED):
            ended = self._pivots()
            if ended is _End.BLOCKED and tried:
                return self._none()
            found = self._solution() if ended is _End.HELD else None
            if found is not None or ended is _End.LOST or not self._afresh():
                return found
        return None

    def _pivots(self) -> _End:
        for pivot in range(1, _MOST_PIVOTS):
            if pivot % _AFRESH == 0 and not self._afresh():
                break
            at = self._leaving()
            if at is None:
                return _End.HELD
            if not self._pivot(at):
                return _End.BLOCKED
        return _End.LOST

    def _nonbasic(self) -> Floats:
        found: Floats = np.where(self.basic, 0.0, np.where(self.up, self.high, self.low))
        return found

    def _values(self) -> Floats:
        found: Floats = self.table[:, self.slack] @ self.limit - self.table @ self._nonbasic()
        return found

    def _afresh(self) -> bool:
        """Make the tableau anew from the basis."""
        try:
            self.table = np.linalg.solve(self.matrix[:, self.basis], self.matrix)
        except np.linalg.LinAlgError:
            return False
        self.dear = self.cost - self.cost[self.basis] @ self.table
        self.dear[self.basis] = 0.0
        self.value = self._values()
        return bool(np.isfinite(self.value).all())

    def _leaving(self) -> int | None:
        """The row whose variable lies farthest beyond a bound, by steepest edges."""
        low, high = self.low[self.basis], self.high[self.basis]
        beyond = np.maximum(low - self.value, self.value - high)
        if float(beyond.max(initial=0.0)) <= _HELD:
            return None
        edges = np.einsum("ij,ij->i", self.table[:, self.slack], self.table[:, self.slack])
        worst = np.where(beyond > _HELD, beyond * beyond / edges, -1.0)
        return int(worst.argmax())

    def _pivot(self, at: int) -> bool:
        """Let the variable of a row go to its bound; False where no other can take its place."""
        leaving, row = int(self.basis[at]), self.table[at]
        falls = bool(self.value[at] > self.high[leaving])
        goal = self.high[leaving] if falls else self.low[leaving]
        lacking = abs(float(self.value[at] - goal))
        toward = -row if falls else row
        span = self.high - self.low
        can = np.flatnonzero(
            np.where(self.up, toward > _PIVOT, toward < -_PIVOT) & ~self.basic & (span > 0.0)
        )
        steep = np.abs(row[can])
        ratio = np.maximum(np.where(self.up[can], -self.dear[can], self.dear[can]), 0.0) / steep
        order = np.argsort(ratio, kind="stable")
        passed = np.cumsum(steep[order] * span[can[order]])
        stop = int(np.searchsorted(passed, lacking))
        if stop >= len(order):
            return False
        alike = order[
            stop : int(np.searchsorted(ratio[order], ratio[order[stop]] + _ALIKE, "right"))
        ]
        entering = int(can[alike[int(steep[alike].argmax())]])
        self._flip(can[order[:stop]])
        self._change(at, leaving, entering, goal, up=falls)
        return True

    def _flip(self, passed: Ints) -> None:
        """Put variables at their other bounds."""
        if not len(passed):
            return
        before = np.where(self.up[passed], self.high[passed], self.low[passed])
        self.up[passed] = ~self.up[passed]
        after = np.where(self.up[passed], self.high[passed], self.low[passed])
        self.value -= self.table[:, passed] @ (after - before)

    def _change(self, at: int, leaving: int, entering: int, goal: float, *, up: bool) -> None:
        table, column = self.table, self.table[:, entering].copy()
        step = float(self.value[at] - goal) / column[at]
        start = self.high[entering] if self.up[entering] else self.low[entering]
        self.value -= step * column
        self.value[at] = start + step
        row = table[at] / column[at]
        column[at] = 0.0
        table -= np.outer(column, row)
        table[at] = row
        table[:, entering] = 0.0
        table[at, entering] = 1.0
        self.dear -= self.dear[entering] * row
        self.dear[entering] = 0.0
        self.basis[at] = entering
        self.basic[entering], self.basic[leaving] = True, False
        self.up[leaving] = up

    def _solution(self) -> Solution | None:
        every = self._nonbasic()
        every[self.basis] = self.value
        x = np.clip(every[: self.n], self.low[: self.n], self.high[: self.n])
        over = self.matrix[:, : self.n] @ x - self.limit
        if not np.isfinite(over).all() or np.any(over[self.soft :] > _TRUE):
            return None
        wrong: Flags = np.where(self.up, self.dear > _TRUE, self.dear < -_TRUE)
        if np.any(wrong & ~self.basic & (self.high > self.low)):
            return None
        weights = self.cost[self.n : self.n + self.soft]
        value = self.cost[: self.n] @ x + weights @ np.maximum(over[: self.soft], 0.0)
        return Solution(x, -self.dear[self.slack] / self.scale, float(value))

    def _none(self) -> Solution:
        return Solution(None, np.zeros(self.rows), np.inf)
