"""Fillings of casks, put on hold and freed through the same checks as a file's row."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.intake.kinds import Kind
from panel.intake.loading import add_record
from panel.store.casks import Filling
from panel.store.who import lead_code

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

    from panel.intake.report import LoadReport
    from panel.store.engine import Store


def hold_filling(
    store: Store, filling: str, reason: str, until: str, *, now: datetime, by: str | None
) -> LoadReport:
    """Put a filling on hold until a day, or lift the hold where no reason is given.

    The report tells what is wrong with reason or day, as they were typed.

    Raises
    ------
    UnknownRecord, NotAllowed
        Whoever acts does not lead.
    """
    with store.read() as db:
        lead = lead_code(db, by)
        row = {**_row(db, filling), "hold_reason": reason, "hold_until": until}
    return add_record(store, Kind.CASKS, row, now=now, by=lead)


def _row(db: Session, label: str) -> dict[str, str]:
    """Return a filling as a row of the casks file, as far as it cannot do without."""
    filling = db.scalars(select(Filling).where(Filling.label == label)).one()
    return {
        "cask": filling.cask.number,
        "wood": filling.cask.wood,
        "size_l": repr(filling.cask.size_l),
        "filling": filling.label,
        "filled_on": filling.filled_on.isoformat(),
        "fill_number": str(filling.fill_number),
        "fill_abv": repr(filling.fill_abv),
        "fill_bulk_l": repr(filling.fill_bulk_l),
    }
