"""Regauges: what a cask holds, measured."""

from __future__ import annotations

from collections.abc import Sequence
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
from panel.intake.fillings import check_fits, check_stay, fetch_stock, find_filling
from panel.intake.load import Load, RowOutcome, change
from panel.intake.strengths import check_litres, check_strength
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
    names = ("abv", "method", "temperature_c", "note")
    columns: dict[str, tuple[str, Any]] = {name: (name, getattr(row, name)) for name in names}
    values = load.present({**columns, "bulk_l": ("bulk_l", row.kept_l)})
    if gauge is None or gauge.abv != row.abv:
        check_strength(load, row.at, filling, row.abv, row.gauged_on, gauged=True)
    if gauge is None or gauge.bulk_l != row.kept_l:
        check_litres(load, row.at, filling, row.kept_l, row.gauged_on)
    if gauge is not None:
        return RowOutcome.CHANGED if change(gauge, values) else RowOutcome.UNCHANGED
    load.db.add(Regauge(filling=filling, gauged_on=row.gauged_on, **values))
    return RowOutcome.NEW
