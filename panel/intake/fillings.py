"""Fillings that rows speak of, and whether a day lies within a filling's stay."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Protocol

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from panel.figures import in_digits
from panel.intake.load import Load, all_names, change, fetch
from panel.kinds import EventKind
from panel.store.casks import Cask, Filling, HoldChange

OVER_NOMINAL = 1.05
"""A cask's size is nominal: five per cent over it is let pass (common practice, no source)."""


class FillingRow(Protocol):
    """A row that names a filling, or a cask and means the filling in it."""

    @property
    def at(self) -> int:
        """Return the row as a spreadsheet counts it."""

    @property
    def filling(self) -> str | None:
        """Return the filling's label."""

    @property
    def cask(self) -> str | None:
        """Return the cask's number."""


@dataclass
class FillingsNamed:
    """The fillings that a file speaks of, by label and by cask."""

    by_label: dict[str, Filling] = field(default_factory=dict)
    by_cask: dict[str, list[Filling]] = field(default_factory=lambda: defaultdict(list))

    def add(self, filling: Filling) -> None:
        """Put a filling in both lists."""
        if filling.label not in self.by_label:
            self.by_label[filling.label] = filling
            self.by_cask[filling.cask.number].append(filling)


def fetch_stock(
    db: Session, labels: Iterable[str | None], casks: Iterable[str | None]
) -> FillingsNamed:
    """Return the named fillings and every filling of a cask that they or *casks* name."""
    lives = select(Filling).options(
        joinedload(Filling.cask), selectinload(Filling.told_events), selectinload(Filling.regauges)
    )
    named = fetch(db, lives, Filling.label, {label for label in labels if label})
    numbers = {cask for cask in casks if cask} | {filling.cask.number for filling in named}
    wood = fetch(db, select(Cask), Cask.number, numbers)
    stock = FillingsNamed()
    for filling in fetch(db, lives, Filling.cask_id, {cask.id for cask in wood}):
        stock.add(filling)
    for cask in wood:
        stock.by_cask[cask.number].sort(key=lambda filling: filling.filled_on)
    return stock


def change_filling(load: Load, filling: Filling, values: Mapping[str, Any]) -> bool:
    """Bring a known filling up to date; where its hold changes a line says what stood before."""
    before = (filling.hold_reason, filling.hold_until)
    changed = change(filling, values)
    if before != (filling.hold_reason, filling.hold_until):
        load.db.add(
            HoldChange(
                filling=filling,
                reason=filling.hold_reason,
                until=filling.hold_until,
                reason_before=before[0],
                until_before=before[1],
                changed_at=load.now,
                by_code=load.by,
            )
        )
    return changed


def emptied_on(filling: Filling) -> date | None:
    """Return the day on which a filling was emptied, None while it is in its cask."""
    days = [e.happened_on for e in filling.events if e.kind is EventKind.EMPTIED]
    return min(days, default=None)


def find_filling(
    load: Load, row: FillingRow, stock: FillingsNamed, day: date | None
) -> Filling | None:
    """Return the filling that a row means; note why there is none."""
    if row.filling is None and row.cask is None:
        load.fault(row.at, "filling", "", "name the filling, or the cask it is in")
        return None
    if row.filling is None:
        return _in_cask(load, row, stock, day)
    filling = stock.by_label.get(row.filling)
    if filling is None:
        names = all_names(load.db, Filling.label)
        load.unknown(row.at, "filling", row.filling, "filling", names)
        return None
    if row.cask is not None and filling.cask.number != row.cask:
        message = f"filling {filling.label} is in cask {filling.cask.number}, not in this one"
        load.fault(row.at, "cask", row.cask, message)
        return None
    return filling


def _in_cask(load: Load, row: FillingRow, stock: FillingsNamed, day: date | None) -> Filling | None:
    number = row.cask or ""
    if number not in stock.by_cask:
        load.unknown(row.at, "cask", number, "cask", all_names(load.db, Cask.number))
        return None
    fillings = stock.by_cask[number]
    moment = day or load.today
    within = [filling for filling in fillings if _was_in(filling, moment)]
    if len(within) == 1:
        return within[0]
    load.fault(row.at, "cask", number, _why_not_one(fillings, within, moment))
    return None


def _was_in(filling: Filling, day: date) -> bool:
    emptied = emptied_on(filling)
    return filling.filled_on <= day and (emptied is None or day <= emptied)


def _why_not_one(fillings: list[Filling], within: list[Filling], day: date) -> str:
    if not fillings:
        return "nothing was ever filled into this cask"
    listed = ", ".join(f"{f.label} (filled {f.filled_on})" for f in within or fillings)
    if within:
        return f"on {day} this could be {listed}: name it in the column filling"
    if day < fillings[0].filled_on:
        return f"{day} is before it was filled: {listed}"
    return f"nothing was in this cask on {day}; its fillings: {listed}"


def check_stay(load: Load, row: int, column: str, filling: Filling, day: date, what: str) -> bool:
    """Note a day before a filling was filled or after it was emptied; say whether it fits."""
    if day < filling.filled_on:
        message = f"{filling.label} was filled on {filling.filled_on}: it was not {what} before"
        load.fault(row, column, day, message)
        return False
    emptied = emptied_on(filling)
    if emptied is not None and day > emptied:
        message = f"{filling.label} was emptied on {emptied}: it was not {what} after"
        load.fault(row, column, day, message)
        return False
    return True


def check_fits(load: Load, row: int, column: str, filling: Filling, litres: float) -> None:
    """Note more litres than a cask of its size can hold."""
    cask = filling.cask
    check_size(load, row, column, litres, cask.number, cask.size_l)


def check_size(load: Load, row: int, column: str, litres: float, cask: str, size_l: float) -> None:
    """Note more litres than fit into a cask of *size_l* litres."""
    if litres > size_l * OVER_NOMINAL:
        message = f"cask {cask} holds {in_digits(size_l, 'g')} L: more than fits into it"
        load.fault(row, column, in_digits(litres, "g"), message)
