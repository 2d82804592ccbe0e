"""Names in the limits of a plan that the records must know: casks, notes, records, makes, woods."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.intake.load import Load, all_names
from panel.records.plan_limits import EXPECTED, expected_casks, plan_asks
from panel.records.share_text import read_share
from panel.store.ages import day_fault
from panel.store.casks import Cask, Make

if TYPE_CHECKING:
    import pandas as pd

    from panel.records.plan_limits import Expected, MustBeLeft, PlanAsks, ReleaseAsks
    from panel.store.targets import StoredTarget

LIMITS = "limits"


@dataclass
class PlanNames:
    """Looks up what the limits of a plan name; what is not there is a fault of the load."""

    load: Load
    wholes: Mapping[str, str | None]
    """By plan, the limits that hold for the whole of it once this file is taken."""
    _expected_of: dict[str, frozenset[str] | None] = field(
        default_factory=dict, init=False, repr=False
    )
    """By plan, the casks that it expects, once they were asked for."""

    def of_release(
        self, row: int, plan: str, asks: ReleaseAsks, target: StoredTarget | None
    ) -> None:
        """Check the limits of a release; its notes where its target is known."""
        self._casks(row, plan, (*asks.include, *asks.exclude))
        if target is not None:
            notes = [line.descriptor.name for line in target.lines]
            for note in (note for note, _points in asks.wider if note not in notes):
                what = f"note of target {target.name}"
                self._strange(row, note, what, lambda: notes)
        for text in asks.shares:
            share = read_share(text)
            self._record(row, share.column, [str(value) for value in share.values])

    def of_whole(self, row: int, plan: str, asks: PlanAsks, *, anew: bool) -> None:
        """Check what holds for a whole plan; days that are over only where it is written anew."""
        self._casks(row, plan, asks.held)
        for each in asks.fillings:
            self._filling(row, each, anew=anew)
        for left in asks.left:
            self._left(row, left, asks.fillings)

    def _strange(self, row: int, name: str, what: str, names: Callable[[], Iterable[str]]) -> None:
        """Note a name of nothing, by itself: a cell of limits has many."""
        if name not in self.load.missed and what not in self.load.unread:
            near = self.load.nearest(name, what, names)
            self.load.fault(row, LIMITS, name, f"there is no {what} {name!r}{near}")

    def of_kept(self, row: int, plan: str, release: str, asks: ReleaseAsks) -> None:
        """Check that a release which stays as it is names no filling that this row takes away."""
        there = self._expected(plan)
        for name in dict.fromkeys((*asks.include, *asks.exclude)):
            if there is not None and EXPECTED.fullmatch(name) and name not in there:
                said = f"release {release} of it names {name!r}, which it fills no more"
                self.load.fault(row, LIMITS, name, said)

    def _casks(self, row: int, plan: str, named: Sequence[str]) -> None:
        for name in dict.fromkeys(named):
            if name in self._known_casks:
                continue
            if EXPECTED.fullmatch(name) is None:
                self._strange(row, name, "cask", lambda: self._known_casks)
            elif (there := self._expected(plan)) is not None and name not in there:
                what = f"cask among the fillings that plan {plan} expects:"
                self._strange(row, name, what, partial(sorted, there))

    def _expected(self, plan: str) -> frozenset[str] | None:
        """The casks that a plan expects to be filled; None where its limits cannot be read."""
        if plan not in self._expected_of:
            asks, faults = plan_asks(self.wholes.get(plan))
            names = frozenset(name for name, _filling in expected_casks(asks.fillings))
            self._expected_of[plan] = None if faults else names
        return self._expected_of[plan]

    def _filling(self, row: int, each: Expected, *, anew: bool) -> None:
        if anew and each.on < self.load.today:
            said = "is over: load its casks as they were filled"
            self.load.fault(row, LIMITS, each.on, f"the filling expected on {each.on} {said}")
        if wrong := day_fault(each.on, self.load.today):
            self.load.fault(row, LIMITS, each.on, wrong)
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
        if "cask" in self.load.unread:
            return
        columns = [str(name) for name in self._stock.columns]
        if column not in columns:
            self._strange(row, column, "record of casks", lambda: columns)
            return
        if not len(self._stock):
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
