"""Seats filled glass by glass, each with what adds most given those before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from ..array_types import Codes, Flags, Matrix, Vector
from .room import Room

_AT_ONCE = 64
"""Casks whose gains are reckoned at once: those that can add most come first."""
_NOTHING = 1e-12


class Weighing(Protocol):
    """What glasses are worth to a question, as more and more of them are poured."""

    @property
    def names(self) -> Sequence[str]:
        """What can be poured."""
        ...

    @property
    def coupled(self) -> bool:
        """Whether a glass of one cask changes what those of others are worth."""
        ...

    def most(self) -> Vector:
        """No glass of each cask adds more than this."""
        ...

    def gains(self, rows: Codes) -> Matrix:
        """What one more glass of some casks adds, by each person who comes."""
        ...

    def pour(self, row: int, assessor: int) -> None:
        """Count a glass among those poured."""
        ...


@dataclass(frozen=True)
class Poured:
    """One glass: rows of the weighing's casks and of the people, and what it adds."""

    row: int
    assessor: int
    value: float


def fill(weighing: Weighing, room: Room) -> tuple[Poured, ...]:
    """Fill the seats.

    Gains are kept from glass to glass and reckoned anew only where a glass changed them. A cask
    whose glasses can add less than the best gain so far is never reckoned at all.
    """
    table = _Table(weighing, room)
    found = [table.pour_asked(row) for row in table.asked]
    while (best := table.best()) is not None:
        found.append(table.pour(*best))
    return tuple(glass for glass in found if glass is not None)


class _Table:
    """The session as it fills: seats, casks in it, and gains that are still good."""

    def __init__(self, weighing: Weighing, room: Room) -> None:
        self.weighing, self.room = weighing, room
        names = list(weighing.names)
        self.seats = np.array([room.seats_of(name) for name in room.assessors], dtype=np.intp)
        self.left = np.array([room.glasses_of(name) for name in names], dtype=np.intp)
        self.peat = np.array([room.peat.get(name, 0) for name in names], dtype=np.intp)
        self.sheds = ["" if n in room.samples else room.sheds.get(n, "") for n in names]
        self.used = np.zeros(len(names), dtype=np.bool_)
        place = {name: row for row, name in enumerate(names)}
        self.asked = [place[name] for name in room.named if name in place]
        self.most = weighing.most().copy()
        self.most[[place[name] for name in room.without if name in place]] = -np.inf
        self.order = np.argsort(-self.most, kind="stable")
        self.known = 0
        self.rows: list[int] = []
        self.gains = np.zeros((0, len(self.seats)))
        self.free = np.zeros((0, len(self.seats)), dtype=np.bool_)
        self.at: dict[int, int] = {}

    def best(self) -> tuple[int, int] | None:
        """Which glass adds most; None where none adds anything."""
        if not self.seats.any():
            return None
        while True:
            row, assessor, gain = self._best_known()
            full = self.used.sum() >= self.room.pool
            if full or self.known >= len(self.order) or gain >= self.most[self.order[self.known]]:
                break
            self._look_at(self.order[self.known : self.known + _AT_ONCE])
            self.known += _AT_ONCE
        return (row, assessor) if gain > _NOTHING else None

    def _look_at(self, rows: Codes) -> None:
        new = np.array([r for r in rows if r not in self.at and self.most[r] > -np.inf], np.intp)
        if not len(new):
            return
        self.at.update({int(row): len(self.rows) + k for k, row in enumerate(new)})
        self.rows += new.tolist()
        self.gains = np.vstack([self.gains, self.weighing.gains(new)])
        self.free = np.vstack([self.free, np.ones((len(new), len(self.seats)), dtype=np.bool_)])

    def _best_known(self) -> tuple[int, int, float]:
        if not self.rows:
            return -1, -1, -np.inf
        rows = np.array(self.rows, dtype=np.intp)
        gains = self.gains - self._fetched(rows)[:, None]
        gains = np.where(self.free & (self.seats > 0), gains, -np.inf)
        gains[~self._may_be_poured(rows)] = -np.inf
        at, assessor = np.unravel_index(int(np.argmax(gains)), gains.shape)
        return int(rows[at]), int(assessor), float(gains[at, assessor])

    def _may_be_poured(self, rows: Codes) -> Flags:
        """Casks with a glass left, and among those of the session or with room in it."""
        open_ = self.used[rows].copy()
        if self.used.sum() < self.room.pool:
            classes = set(self.peat[self.used].tolist())
            most = self.room.most_classes
            fits = np.ones(len(rows), dtype=np.bool_)
            if most is not None and len(classes) >= most:
                fits = np.isin(self.peat[rows], list(classes))
            open_ |= fits
        found: Flags = open_ & (self.left[rows] > 0)
        return found

    def _fetched(self, rows: Codes) -> Vector:
        """What fetching a cask costs, spread over the glasses that one has on average."""
        if self.room.shed_price <= 0.0:
            return np.zeros(len(rows))
        been = {self.sheds[row] for row in np.flatnonzero(self.used)} | {""}
        each = self.room.shed_price * self.room.pool / max(int(self._all_seats()), 1)
        return np.array([0.0 if self.sheds[row] in been else each for row in rows])

    def _all_seats(self) -> int:
        return sum(self.room.seats_of(name) for name in self.room.assessors)

    def pour_asked(self, row: int) -> Poured | None:
        """Pour a cask that was asked for, to whom it adds most."""
        self._look_at(np.array([row], dtype=np.intp))
        if row not in self.at or self.left[row] <= 0 or not self.seats.any():
            return None
        gains = np.where(self.seats > 0, self.gains[self.at[row]], -np.inf)
        return self.pour(row, int(np.argmax(gains)))

    def pour(self, row: int, assessor: int) -> Poured:
        """Pour one glass, and reckon anew what it changes."""
        at = self.at[row]
        glass = Poured(row, assessor, float(self.gains[at, assessor]))
        self.weighing.pour(row, assessor)
        self.seats[assessor] -= 1
        self.left[row] -= 1
        self.used[row] = True
        self.free[at, assessor] = False
        changed = list(range(len(self.rows))) if self.weighing.coupled else [at]
        rows = np.array([self.rows[k] for k in changed], dtype=np.intp)
        self.gains[changed] = self.weighing.gains(rows)
        return glass
