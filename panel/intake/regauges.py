"""Regauges: what a cask holds, measured."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from pydantic import BeforeValidator

from panel.intake.cells import (
    CELSIUS,
    CONTENT,
    OneOf,
    OptionalName,
    OptionalText,
    PastDay,
    RowModel,
    Strength,
)
from panel.intake.columns import Columns
from panel.intake.fillings import check_fits, check_stay, fetch_stock, find_filling
from panel.intake.load import Load, RowOutcome, change
from panel.kinds import GaugeMethod
from panel.store.casks import Filling, Regauge

COLUMNS = Columns(
    either=("filling", "cask"),
    required=("gauged_on", "bulk_l", "abv", "method"),
    optional=("temperature_c", "note"),
    numbers=frozenset({"bulk_l", "abv", "temperature_c"}),
)


class RegaugeRow(RowModel):
    """One measurement of one filling."""

    filling: OptionalName = None
    cask: OptionalName = None
    gauged_on: PastDay
    bulk_l: Annotated[float, BeforeValidator(CONTENT)]
    abv: Strength
    method: Annotated[GaugeMethod, BeforeValidator(OneOf(GaugeMethod))]
    temperature_c: Annotated[float | None, BeforeValidator(CELSIUS.read)] = None
    note: OptionalText = None


def take_regauges(load: Load, rows: Sequence[RegaugeRow]) -> None:
    """Add regauges and bring known ones up to date."""
    stock = fetch_stock(load.db, (row.filling for row in rows), (row.cask for row in rows))
    known = {
        (filling.label, gauge.gauged_on): gauge
        for filling in stock.by_label.values()
        for gauge in filling.regauges
    }
    first_rows: dict[tuple[str, object], int] = {}
    for row in load.going(rows):
        filling = find_filling(load, row, stock, row.gauged_on)
        if filling is None:
            continue
        key = (filling.label, row.gauged_on)
        first = first_rows.setdefault(key, row.at)
        if first != row.at:
            message = f"{filling.label} is gauged on this day in row {first} already"
            load.fault(row.at, "gauged_on", row.gauged_on, message)
            continue
        check_stay(load, row.at, "gauged_on", filling, row.gauged_on, "gauged")
        check_fits(load, row.at, "bulk_l", filling, row.bulk_l)
        load.count(_settle(load, row, filling, known.get(key)))


def _settle(load: Load, row: RegaugeRow, filling: Filling, gauge: Regauge | None) -> RowOutcome:
    names = ("bulk_l", "abv", "method", "temperature_c", "note")
    values = load.present({name: (name, getattr(row, name)) for name in names})
    if gauge is not None:
        return RowOutcome.CHANGED if change(gauge, values) else RowOutcome.UNCHANGED
    load.db.add(Regauge(filling=filling, gauged_on=row.gauged_on, **values))
    return RowOutcome.NEW
