"""Printing sheets: who may, what it costs, and a file that only its owner can read."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from panel.errors import SessionError

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from panel.cli.invocation import Invocation
    from panel.store.engine import Session


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
    bottle_sheet: str | None = None
    draw_list: str | None = None
    labels_page: str | None = None
    mats_page: str | None = None
    carriage_sheet: str | None = None

    json_keys = (
        *("session", ("by", "printed_by"), "pour_sheet", "tray_labels", "day_sheet", "ballots"),
        *("bottle_sheet", "draw_list", "labels_page", "mats_page"),
        *("carriage_sheet", "costs"),
    )

    @property
    def text(self) -> str:
        """Return the sheets one after the other, each on a page of its own."""
        return "\f".join(sheet for sheet in self._sheets if sheet)

    @property
    def _sheets(self) -> tuple[str | None, ...]:
        return (
            *(self.pour_sheet, self.tray_labels, self.day_sheet, self.ballots),
            *(self.bottle_sheet, self.draw_list, self.labels_page, self.mats_page),
            self.carriage_sheet,
        )


TELLS_KEY = frozenset({"both", "pour", "day", "bottles"})
"""Sheets that tell what is in a glass, or from which it can be told."""


def print_sheets(
    inv: Invocation,
    name: str,
    which: str,
    *,
    out: Path | None,
    insist: bool,
    labels: str,
) -> Printed:
    """Return the sheets asked for, written to *out* if that is named; who printed is kept.

    Raises
    ------
    SessionError
        A sheet would cost blindness and nobody insisted.
    """
    from panel.records.acts import Act
    from panel.session.paper import write_private
    from panel.session.sheets import printer, printing_costs

    named = inv.proved(Act.KEY_SHEET) if which in TELLS_KEY else inv.by
    with inv.writing() as db:
        by = printer(db, named, now=inv.now())
        costs = printing_costs(db, name, by) if which in TELLS_KEY else ()
        if costs and not insist:
            raise SessionError(" ".join(costs) + " It is printed all the same with --insist.")
        made = _made(db, name, which, labels, now=inv.now(), by=by)
        printed = Printed(
            session=name,
            by=by,
            pour_sheet=made.get("pour_sheet"),
            tray_labels=made.get("tray_labels"),
            costs=costs,
            day_sheet=made.get("day_sheet"),
            ballots=made.get("ballots"),
            bottle_sheet=made.get("bottle_sheet"),
            draw_list=made.get("draw_list"),
            labels_page=made.get("labels_page"),
            mats_page=made.get("mats_page"),
            carriage_sheet=made.get("carriage_sheet"),
        )
        if out is not None:
            write_private(out, printed.text)
    return printed


def _made(
    db: Session, name: str, which: str, labels: str, *, now: datetime, by: str
) -> dict[str, str]:
    """Return the text of what is asked for, by the name that it has among what was printed."""
    from panel.report.paper import labels_page, mats_page
    from panel.session.ballots import ballots
    from panel.session.bottle_sheet import bottle_sheet
    from panel.session.day_sheet import day_sheet
    from panel.session.draw_list import draw_list
    from panel.session.elsewhere.sheet import carriage_sheet
    from panel.session.printed_codes import codes_to_print
    from panel.session.sheets import pour_sheet, tray_labels

    ways: dict[str, dict[str, Callable[[], str]]] = {
        "pour": {"pour_sheet": lambda: pour_sheet(db, name, now=now, by=by)},
        "trays": {"tray_labels": lambda: tray_labels(db, name, now=now, by=by)},
        "day": {"day_sheet": lambda: day_sheet(db, name, now=now, by=by)},
        "ballots": {"ballots": lambda: ballots(db, name, now=now, by=by)},
        "bottles": {"bottle_sheet": lambda: bottle_sheet(db, name, now=now, by=by)},
        "draws": {"draw_list": lambda: "\n".join([*draw_list(db, name, now=now).lines(), ""])},
        "labels": {
            "labels_page": lambda: labels_page(
                codes_to_print(db, name, "glass labels", now=now, by=by), labels
            )
        },
        "carriage": {"carriage_sheet": lambda: carriage_sheet(db, name, now=now, by=by)},
        "mats": {
            "mats_page": lambda: mats_page(codes_to_print(db, name, "tray mats", now=now, by=by))
        },
    }
    ways["both"] = {**ways["pour"], **ways["trays"]}
    return {sheet: make() for sheet, make in ways[which].items()}
