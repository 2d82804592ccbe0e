"""Casks and their fillings: one row a filling, or the wood alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pydantic import model_validator
from sqlalchemy import select

from panel.intake.cells import (
    Day,
    Litres,
    Name,
    OptionalFromOne,
    OptionalLitres,
    OptionalName,
    OptionalPastDay,
    OptionalStrength,
    OptionalText,
    RowModel,
    Text,
    fault,
)
from panel.intake.columns import Columns
from panel.intake.event_checks import check_fillings
from panel.intake.filling_checks import (
    check_alone,
    check_by_itself,
    check_held,
    check_later_records,
    check_neighbour,
    check_origin,
)
from panel.intake.fillings import (
    FillingsNamed,
    change_filling,
    check_fits,
    check_stay,
    emptied_on,
    fetch_stock,
)
from panel.intake.load import Load, RowOutcome, all_names, change, fetch, refuse_twins
from panel.intake.partly import with_blanks
from panel.intake.strengths import check_fill_strength
from panel.store.casks import Cask, Filling, FillingEvent, Make, emptying
from panel.store.doubts import filling_doubts
from panel.store.planted import standing_holds

NEEDED = ("filled_on", "fill_number", "fill_abv", "fill_bulk_l")
OF_THE_WOOD = ("cask", "wood", "size_l", "note")


class CaskRow(RowModel):
    """One filling of one cask; without a day and values of a filling, the wood alone."""

    cask: Name
    wood: Text
    size_l: Litres
    filled_on: OptionalPastDay
    fill_number: OptionalFromOne
    fill_abv: OptionalStrength
    fill_bulk_l: OptionalLitres
    filling: OptionalName = None
    make: OptionalName = None
    parcel: OptionalText = None
    previous: OptionalText = None
    owner: OptionalText = None
    hold_reason: OptionalText = None
    hold_until: Day = None
    emptied_on: OptionalPastDay = None
    site: OptionalText = None
    warehouse: OptionalText = None
    row: OptionalText = None
    tier: OptionalText = None
    note: OptionalText = None

    @property
    def wood_only(self) -> bool:
        """Say whether the row has no filling."""
        return self.filled_on is None

    @property
    def label(self) -> str:
        """Return the filling's label, the first of its cask where none is given."""
        return self.filling or f"{self.cask}/1"

    @model_validator(mode="after")
    def _whole_or_none(self) -> CaskRow:
        first = next((name for name in OF_A_FILLING if getattr(self, name) is not None), None)
        if first is None:
            return self
        for column in NEEDED:
            if getattr(self, column) is None:
                words = f"a filling (here is its {first}) must have {', '.join(NEEDED)}"
                raise fault(words, column=column)
        if self.hold_until is not None and self.hold_reason is None:
            raise fault("a hold until a day must have a reason", column="hold_reason")
        return self


REQUIRED = ("cask", "wood", "size_l", *NEEDED)
COLUMNS = Columns(
    required=REQUIRED,
    optional=tuple(
        name for name in CaskRow.model_fields if name not in {*RowModel.model_fields, *REQUIRED}
    ),
    numbers=frozenset({"size_l", "fill_number", "fill_abv", "fill_bulk_l"}),
)
OF_A_FILLING = tuple(name for name in COLUMNS.known if name not in OF_THE_WOOD)
ITS_OWN = tuple(name for name in OF_A_FILLING if name in Filling.__table__.columns)
"""What a row tells of a filling under the name that the records have for it."""


def take_casks(load: Load, rows: Sequence[CaskRow]) -> None:
    """Add casks and fillings and bring known ones up to date."""
    _refuse_twins(load, rows)
    intake = _Intake.of(load, rows)
    for row in load.unsound:
        check_by_itself(load, with_blanks(row))
    for row in load.going(rows):
        load.count(intake.take(row))
    of_file = frozenset(row.label for row in rows if not row.wood_only)
    for row in rows:
        if not row.wood_only and row.label in intake.stock.by_label:
            _check_filling(load, row, intake.stock, of_file)
            if row.label in intake.new_strengths:
                check_fill_strength(load, row.at, intake.stock.by_label[row.label])
    check_fillings(load, intake.stock, intake.emptied, "emptied_on")


def _refuse_twins(load: Load, rows: Sequence[CaskRow]) -> None:
    # A day that could not be read is a day: such a row is a filling's.
    refuse_twins(
        load,
        rows,
        lambda row: None if getattr(row, "filled_on", row) is None else row.label,
        "filling",
        lambda key: f"filling {key} (each filling of a cask has a label of its own: C1/2)",
    )
    refuse_twins(
        load,
        rows,
        lambda row: row.cask if row.wood_only else None,
        "cask",
        lambda key: f"cask {key} without a filling",
    )


@dataclass
class _Intake:
    load: Load
    makes: dict[str, Make]
    casks: dict[str, Cask]
    stock: FillingsNamed
    first_rows: dict[str, CaskRow]
    emptied: dict[str, list[tuple[int, FillingEvent]]] = field(default_factory=dict)
    new_strengths: set[str] = field(default_factory=set)
    """Labels of the fillings whose strength was not recorded so before."""

    @classmethod
    def of(cls, load: Load, rows: Sequence[CaskRow]) -> _Intake:
        numbers = {row.cask for row in rows}
        wood = fetch(load.db, select(Cask), Cask.number, numbers)
        makes = fetch(load.db, select(Make), Make.name, {row.make for row in rows if row.make})
        return cls(
            load,
            {make.name: make for make in makes},
            {cask.number: cask for cask in wood},
            fetch_stock(load.db, (row.label for row in rows), numbers),
            {},
        )

    def take(self, row: CaskRow) -> RowOutcome:
        new_cask = row.cask not in self.casks
        cask, changed = self._wood(row)
        if row.wood_only:
            return _outcome(new=new_cask, changed=changed)
        filling = self.stock.by_label.get(row.label)
        if filling is None:
            self.new_strengths.add(row.label)
            self._empty(row, self._fill(row, cask))
            return RowOutcome.NEW
        if not self._same_filling(row, filling):
            return RowOutcome.UNCHANGED
        before, values = filling.fill_abv, self._values(row)
        if self._lifts_passing(filling, values):
            message = (
                f"{filling.label} was held in passing ({filling.hold_reason}): it takes another "
                f"person and a second nosing to lift that (`oakpanel passing lift {row.cask}`)"
            )
            self.load.fault(row.at, "hold_reason", "", message)
            return RowOutcome.UNCHANGED
        changed = change_filling(self.load, filling, values) or changed
        if filling.fill_abv != before:
            self.new_strengths.add(row.label)
        return _outcome(new=False, changed=self._empty(row, filling) or changed)

    def _lifts_passing(self, filling: Filling, values: Mapping[str, Any]) -> bool:
        """Say whether a row takes away a hold that noses set."""
        if filling.hold_reason is None or values.get("hold_reason", filling.hold_reason):
            return False
        return filling.id in standing_holds(self.load.db, [filling.id])

    def _empty(self, row: CaskRow, filling: Filling) -> bool:
        """Write down the emptying; an empty cell leaves what happened as it is."""
        day, known = row.emptied_on, emptied_on(filling)
        if day is None or day == known:
            return False
        if known is not None:
            message = f"{filling.label} was emptied on {known}: correct that event instead"
            self.load.fault(row.at, "emptied_on", day, message)
            return False
        event = emptying(filling, day)
        self.load.db.add(event)
        self.emptied[filling.label] = [(row.at, event)]
        return check_stay(self.load, row.at, "emptied_on", filling, day, "emptied")

    def _wood(self, row: CaskRow) -> tuple[Cask, bool]:
        values = self.load.present(
            {
                "wood": ("wood", row.wood),
                "size_l": ("size_l", row.size_l),
                "note": ("note", row.note),
            }
        )
        first = self.first_rows.setdefault(row.cask, row)
        for column, value in values.items():
            if getattr(first, column) != value:
                said = getattr(first, column) or "nothing"
                message = f"row {first.at} says {said!s} of the same cask: all its rows must agree"
                self.load.fault(row.at, column, value, message)
        cask = self.casks.get(row.cask)
        if cask is None:
            cask = self.casks[row.cask] = Cask(number=row.cask, fillings=[], **values)
            self.load.db.add(cask)
            return cask, False
        return cask, first is row and change(cask, values)

    def _fill(self, row: CaskRow, cask: Cask) -> Filling:
        filling = Filling(label=row.label, told_events=[], regauges=[], **self._values(row))
        filling.cask = cask
        self.load.db.add(filling)
        self.stock.add(filling)
        return filling

    def _same_filling(self, row: CaskRow, filling: Filling) -> bool:
        if filling.cask.number != row.cask:
            message = f"this label belongs to cask {filling.cask.number}: give it another"
            self.load.fault(row.at, "filling", row.label, message)
            return False
        if row.filling is None and filling.filled_on != row.filled_on:
            message = (
                f"{filling.label} was filled on {filling.filled_on}: name a later filling in the "
                f"column filling (such as {row.cask}/2), or name {filling.label} to correct its day"
            )
            self.load.fault(row.at, "filled_on", row.filled_on, message)
            return False
        return True

    def _values(self, row: CaskRow) -> dict[str, Any]:
        values: dict[str, tuple[str, Any]] = {name: (name, getattr(row, name)) for name in ITS_OWN}
        values["make"] = ("make", self._make(row))
        return self.load.present(values)

    def _make(self, row: CaskRow) -> Make | None:
        if row.make is None:
            return None
        if row.make not in self.makes:
            names = all_names(self.load.db, Make.name)
            self.load.unknown(row.at, "make", row.make, "make", names)
        return self.makes.get(row.make)


def _outcome(*, new: bool, changed: bool) -> RowOutcome:
    if new:
        return RowOutcome.NEW
    return RowOutcome.CHANGED if changed else RowOutcome.UNCHANGED


def _check_filling(load: Load, row: CaskRow, stock: FillingsNamed, of_file: frozenset[str]) -> None:
    filling = stock.by_label[row.label]
    if filling.cask.number != row.cask:
        return
    # A cask that the file tells twice: each row answers for its own litres.
    litres = filling.fill_bulk_l if row.fill_bulk_l is None else row.fill_bulk_l
    check_fits(load, row.at, "fill_bulk_l", filling, litres)
    check_held(load, row, filling)
    check_origin(load, row, filling)
    check_later_records(load, row, filling)
    for column, doubt in filling_doubts(filling):
        load.question(row.at, column, getattr(row, column), doubt)
    for other in stock.by_cask[row.cask]:
        if other is not filling:
            check_neighbour(load, row, filling, other)
    check_alone(load, row, filling, stock.by_cask[row.cask], of_file)
