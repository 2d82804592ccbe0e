"""Printing sheets: who may, what it costs, and a file that only its owner can read."""

from __future__ import annotations

import os
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from panel.errors import OakpanelError, SessionError
from panel.store.places import FILE_MODE

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.cli.invocation import Invocation


@dataclass(frozen=True)
class Printed:
    """The sheets as text, and what printing them cost."""

    session: str
    by: str
    pour_sheet: str | None
    tray_labels: str | None
    costs: tuple[str, ...]

    json_keys = ("session", ("by", "printed_by"), "pour_sheet", "tray_labels", "costs")

    @property
    def text(self) -> str:
        """Return the sheets one after the other, each on a page of its own."""
        return "\f".join(sheet for sheet in (self.pour_sheet, self.tray_labels) if sheet)


def print_sheets(
    inv: Invocation, name: str, which: str, *, out: Path | None, insist: bool
) -> Printed:
    """Return the sheets asked for, written to *out* if that is named; who printed is kept.

    Raises
    ------
    SessionError
        The pour sheet would cost blindness and nobody insisted.
    """
    from panel.session.sheets import pour_sheet, printing_costs, tray_labels

    with closing(inv.open()) as store, store.write() as db:
        by = _printer(db, inv)
        pour, trays = which != "trays", which != "pour"
        costs = printing_costs(db, name, by) if pour else ()
        if costs and not insist:
            raise SessionError(
                " ".join(costs) + " Let somebody print it who does not assess (--by CODE), or "
                "say --insist."
            )
        printed = Printed(
            session=name,
            by=by,
            pour_sheet=pour_sheet(db, name, now=inv.now(), by=by) if pour else None,
            tray_labels=tray_labels(db, name, now=inv.now(), by=by) if trays else None,
            costs=costs,
        )
        if out is not None:
            _write_private(out, printed.text)
    return printed


def _printer(db: Session, inv: Invocation) -> str:
    """Return who prints: a lead, else a pourer."""
    from panel.errors import NotAllowed
    from panel.kinds import Role
    from panel.session.blueprint import today_at_site
    from panel.store.who import acting_person, has_role, people_with, person_by_code

    on = today_at_site(db, inv.now())
    if inv.by is not None:
        lead = has_role(person_by_code(db, inv.by), Role.LEAD)
        return acting_person(db, inv.by, Role.LEAD if lead else Role.POURER, on=on).code
    pourers = people_with(db, Role.POURER, on)
    try:
        return acting_person(db, None, Role.POURER if pourers else Role.LEAD, on=on).code
    except NotAllowed:
        return acting_person(db, None, Role.LEAD, on=on).code


def _write_private(path: Path, text: str) -> None:
    try:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FILE_MODE)
    except FileExistsError:
        raise OakpanelError(f"{path} is there already; name a new file.") from None
    except OSError as error:
        raise OakpanelError(f"{path} cannot be written: {error.strerror}.") from error
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text)
