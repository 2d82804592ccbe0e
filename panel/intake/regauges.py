"""Regauges: what a cask holds, measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Annotated, Any

from pydantic import BeforeValidator, model_validator

from panel.intake.cells import (
    CELSIUS,
    CONTENT,
    OneOf,
    OptionalName,
    OptionalText,
    PastDay,
    RowModel,
    Strength,
    fault,
)
from panel.intake.columns import Columns
from panel.intake.fillings import (
    FillingsNamed,
    check_fits,
    check_stay,
    fetch_stock,
    find_filling,
)
from panel.intake.load import Load, RowOutcome, change
from panel.intake.partly import told_of, with_blanks
from panel.intake.strengths import check_litres, check_strength, check_weak
from panel.kinds import GaugeMethod, LitresAt
from panel.records.gauging import kept_litres
from panel.store.casks import Filling, Regauge

COLUMNS = Columns(
    either=("filling", "cask"),
    required=("gauged_on", "bulk_l", "abv", "method"),
    optional=("temperature_c", "litres_at", "note"),
    numbers=frozenset({"bulk_l", "abv", "temperature_c"}),
)


def _read_litres_at(text: str | None) -> LitresAt:
    return LitresAt(OneOf(LitresAt)(text)) if text else LitresAt.TWENTY


class RegaugeRow(RowModel):
    """One measurement of one filling; litres are those at 20 °C unless `litres_at` says cask."""

    filling: OptionalName = None
    cask: OptionalName = None
    gauged_on: PastDay
    bulk_l: Annotated[float, BeforeValidator(CONTENT)]
    abv: Strength
    method: Annotated[GaugeMethod, BeforeValidator(OneOf(GaugeMethod))]
    temperature_c: Annotated[float | None, BeforeValidator(CELSIUS.read)] = None
    litres_at: Annotated[LitresAt, BeforeValidator(_read_litres_at)] = LitresAt.TWENTY
    note: OptionalText = None

    @model_validator(mode="after")
    def _temperature_if_as_read(self) -> RegaugeRow:
        if self.litres_at is LitresAt.CASK and self.temperature_c is None:
            raise fault("litres at the cask's temperature want that", column="temperature_c")
        return self

    @property
    def kept_l(self) -> float:
        """The litres as they are kept: at 20 °C."""
        if self.litres_at is LitresAt.TWENTY or self.temperature_c is None or not self.bulk_l:
            return self.bulk_l
        return kept_litres(self.bulk_l, self.abv, self.temperature_c)


def take_regauges(load: Load, rows: Sequence[RegaugeRow]) -> None:
    """Add regauges and bring known ones up to date."""
    told = (*load.unsound, *rows)
    stock = fetch_stock(load.db, told_of(told, "filling"), told_of(told, "cask"))
    known = {
        (filling.label, gauge.gauged_on): gauge
        for filling in stock.by_label.values()
        for gauge in filling.regauges
    }
    first_rows: dict[tuple[str, object], int] = {}
    for row in load.unsound:
        _look(load, with_blanks(row), stock, known)
    for row in load.going(rows):
        filling = find_filling(load, row, stock, row.gauged_on)
        if filling is None:
            check_weak(load, row.at, "abv", row.abv)
            continue
        key = (filling.label, row.gauged_on)
        first = first_rows.setdefault(key, row.at)
        if first != row.at:
            message = f"{filling.label} is gauged on this day in row {first} already"
            load.fault(row.at, "gauged_on", row.gauged_on, message)
            continue
        _check(load, row, filling, known.get(key))
        load.count(_settle(load, row, filling, known.get(key)))


Known = Mapping[tuple[str, date], Regauge]


def _look(load: Load, row: Any, stock: FillingsNamed, known: Known) -> None:
    """Note what else is at fault in a row that has faults, as far as it could be read."""
    filling = None
    if (row.filling or row.cask) and row.gauged_on is not None:
        filling = find_filling(load, row, stock, row.gauged_on)
    if filling is None:
        check_weak(load, row.at, "abv", row.abv)
    else:
        _check(load, row, filling, known.get((filling.label, row.gauged_on)))


def _check(load: Load, row: Any, filling: Filling, gauge: Regauge | None) -> None:
    """Note what is at fault, or hardly so, of a gauge beside the records of its filling.

    Strength and litres may be blank where they could not be read.
    """
    check_stay(load, row.at, "gauged_on", filling, row.gauged_on, "gauged")
    if row.bulk_l is not None:
        check_fits(load, row.at, "bulk_l", filling, row.bulk_l)
    if row.abv is not None and (gauge is None or gauge.abv != row.abv):
        check_strength(load, row.at, filling, row.abv, row.gauged_on, gauged=True)
    if None not in (row.bulk_l, row.abv) and (gauge is None or gauge.bulk_l != row.kept_l):
        check_litres(load, row.at, filling, row.kept_l, row.gauged_on)


def _settle(load: Load, row: RegaugeRow, filling: Filling, gauge: Regauge | None) -> RowOutcome:
    names = ("abv", "method", "temperature_c", "note")
    columns: dict[str, tuple[str, Any]] = {name: (name, getattr(row, name)) for name in names}
    values = load.present({**columns, "bulk_l": ("bulk_l", row.kept_l)})
    if gauge is not None:
        return RowOutcome.CHANGED if change(gauge, values) else RowOutcome.UNCHANGED
    load.db.add(Regauge(filling=filling, gauged_on=row.gauged_on, **values))
    return RowOutcome.NEW
