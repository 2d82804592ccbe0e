"""Makes: the new-make spirits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from pydantic import BeforeValidator
from sqlalchemy import select

from panel.intake.cells import PHENOLS, Name, OptionalText, RowModel, Text
from panel.intake.columns import Columns
from panel.intake.load import Load, RowOutcome, change, fetch, refuse_twins
from panel.store.casks import Make

COLUMNS = Columns(
    required=("make", "site", "cereal", "phenol_ppm"),
    optional=("campaign", "note"),
    numbers=frozenset({"phenol_ppm"}),
)


class MakeRow(RowModel):
    """One make."""

    make: Name
    site: Text
    cereal: Text
    phenol_ppm: Annotated[float, BeforeValidator(PHENOLS)]
    campaign: OptionalText = None
    note: OptionalText = None


def take_makes(load: Load, rows: Sequence[MakeRow]) -> None:
    """Add makes and bring known ones up to date."""
    refuse_twins(load, rows, lambda row: row.make, "make", lambda key: f"make {key}")
    names = {row.make for row in rows}
    known = {make.name: make for make in fetch(load.db, select(Make), Make.name, names)}
    for row in load.going(rows):
        load.count(_take(load, row, known))


def _take(load: Load, row: MakeRow, known: dict[str, Make]) -> RowOutcome:
    values = load.present(
        {
            "site": ("site", row.site),
            "cereal": ("cereal", row.cereal),
            "phenol_ppm": ("phenol_ppm", row.phenol_ppm),
            "campaign": ("campaign", row.campaign),
            "note": ("note", row.note),
        }
    )
    make = known.get(row.make)
    if make is not None:
        return RowOutcome.CHANGED if change(make, values) else RowOutcome.UNCHANGED
    known[row.make] = Make(name=row.make, **values)
    load.db.add(known[row.make])
    return RowOutcome.NEW
