"""Printing sheets: who may, what it costs, and a file that only its owner can read."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from panel.errors import SessionError

if TYPE_CHECKING:
    from panel.cli.invocation import Invocation


@dataclass(frozen=True)
class Printed:
    """The sheets as text, and what printing them cost."""

    session: str
    by: str
    pour_sheet: str | None
    tray_labels: str | None
    costs: tuple[str, ...]
    day_sheet: str | None = None
    ballots: str | None = None

    json_keys = (
        *("session", ("by", "printed_by"), "pour_sheet", "tray_labels", "day_sheet", "ballots"),
        "costs",
    )

    @property
    def text(self) -> str:
        """Return the sheets one after the other, each on a page of its own."""
        return "\f".join(sheet for sheet in self._sheets if sheet)

    @property
    def _sheets(self) -> tuple[str | None, ...]:
        return self.pour_sheet, self.tray_labels, self.day_sheet, self.ballots


def print_sheets(
    inv: Invocation, name: str, which: str, *, out: Path | None, insist: bool
) -> Printed:
    """Return the sheets asked for, written to *out* if that is named; who printed is kept.

    Raises
    ------
    SessionError
        A sheet would cost blindness and nobody insisted.
    """
    from panel.records.acts import Act
    from panel.session.ballots import ballots
    from panel.session.day_sheet import day_sheet
    from panel.session.paper import write_private
    from panel.session.sheets import pour_sheet, printer, printing_costs, tray_labels

    pour, trays, day = which in {"both", "pour"}, which in {"both", "trays"}, which == "day"
    named = inv.proved(Act.KEY_SHEET) if pour or day else inv.by
    with inv.writing() as db:
        by = printer(db, named, now=inv.now())
        costs = printing_costs(db, name, by) if pour or day else ()
        if costs and not insist:
            raise SessionError(" ".join(costs) + " It is printed all the same with --insist.")
        printed = Printed(
            session=name,
            by=by,
            pour_sheet=pour_sheet(db, name, now=inv.now(), by=by) if pour else None,
            tray_labels=tray_labels(db, name, now=inv.now(), by=by) if trays else None,
            costs=costs,
            day_sheet=day_sheet(db, name, now=inv.now(), by=by) if day else None,
            ballots=ballots(db, name, now=inv.now(), by=by) if which == "ballots" else None,
        )
        if out is not None:
            write_private(out, printed.text)
    return printed
