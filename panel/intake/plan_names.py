"""Names in the limits of a plan that the records must know: casks, notes, records, makes, woods."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.intake.load import Load, all_names
from panel.records.share_text import read_share
from panel.store.casks import Cask, Make

if TYPE_CHECKING:
    import pandas as pd

    from panel.records.plan_limits import Expected, MustBeLeft, PlanAsks, ReleaseAsks
    from panel.store.targets import StoredTarget

LIMITS = "limits"
EXPECTED = re.compile(r"expected \d+\.\d+")
"""Casks of fillings that are expected, as a plan numbers them."""


@dataclass
class PlanNames:
    """Looks up what the limits of a plan name; what is not there is a fault of the load."""

    load: Load

    def of_release(self, row: int, asks: ReleaseAsks, target: StoredTarget | None) -> None:
        """Check the limits of a release; its notes where its target is known."""
        self._casks(row, (*asks.include, *asks.exclude))
        if target is not None:
            notes = [line.descriptor.name for line in target.lines]
            for note in (note for note, _points in asks.wider if note not in notes):
                what = f"note of target {target.name}"
                self._strange(row, note, what, lambda: notes)
        for text in asks.shares:
            share = read_share(text)
            self._record(row, share.column, [str(value) for value in share.values])

    def of_whole(self, row: int, asks: PlanAsks, *, anew: bool) -> None:
        """Check what holds for a whole plan; days that are over only where it is written anew."""
        self._casks(row, asks.held)
        for each in asks.fillings:
            self._filling(row, each, anew=anew)
        for left in asks.left:
            self._left(row, left, asks.fillings)

    def _strange(self, row: int, name: str, what: str, names: Callable[[], Iterable[str]]) -> None:
        """Note a name of nothing, by itself: a cell of limits has many."""
        if name not in self.load.missed and what not in self.load.unread:
            near = self.load.nearest(name, what, names)
            self.load.fault(row, LIMITS, name, f"there is no {what} {name!r}{near}")

    def _casks(self, row: int, named: Sequence[str]) -> None:
        for name in dict.fromkeys(named):
            if name not in self._known_casks and EXPECTED.fullmatch(name) is None:
                self._strange(row, name, "cask", lambda: self._known_casks)

    def _filling(self, row: int, each: Expected, *, anew: bool) -> None:
        if anew and each.on < self.load.today:
            said = "is over: load its casks as they were filled"
            self.load.fault(row, LIMITS, each.on, f"the filling expected on {each.on} {said}")
        if each.make is not None and each.make not in self._known_makes:
            self._strange(row, each.make, "make", lambda: self._known_makes)
        if each.wood is not None and self._values("wood") and each.wood not in self._values("wood"):
            said = f"no cask has the wood {each.wood!r}"
            near = self.load.nearest(each.wood, "wood", lambda: self._values("wood"))
            self.load.doubt(row, LIMITS, each.wood, f"{said}{near}")

    def _left(self, row: int, left: MustBeLeft, filled: Sequence[Expected]) -> None:
        if left.column is None:
            return
        more = {str(getattr(each, left.column, None)) for each in filled}
        self._record(row, left.column, [value for value in left.values if value not in more])

    def _record(self, row: int, column: str, values: Sequence[str]) -> None:
        """Check a record of the casks, and that some cask has each of its values."""
        if not len(self._stock) or "cask" in self.load.unread:
            return
        columns = [str(name) for name in self._stock.columns]
        if column not in columns:
            self._strange(row, column, "record of casks", lambda: columns)
            return
        known = self._values(column)
        for value in values:
            if value not in known and not self._is_number(column):
                self._strange(row, value, column, lambda: known)

    def _values(self, column: str) -> set[str]:
        return set(self._stock[column].dropna().map(str))

    def _is_number(self, column: str) -> bool:
        from pandas.api.types import is_numeric_dtype

        return bool(is_numeric_dtype(self._stock[column]))

    @cached_property
    def _stock(self) -> pd.DataFrame:
        from panel.frames.casks import stock_frame

        return stock_frame(self.load.db, self.load.today)

    @cached_property
    def _known_casks(self) -> set[str]:
        return set(all_names(self.load.db, Cask.number)())

    @cached_property
    def _known_makes(self) -> set[str]:
        return set(self.load.db.scalars(select(Make.name)))
