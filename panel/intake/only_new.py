"""Records that are written down as new: one that is known already is a fault, not a change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import InstrumentedAttribute

from panel.intake.kinds import Kind
from panel.intake.load import Load, fetch
from panel.store.casks import Cask, Filling, Make
from panel.store.draws import Draw

NAMES: dict[Kind, tuple[str, Callable[[Any], str | None], InstrumentedAttribute[str], str]] = {
    Kind.MAKES: ("make", lambda row: row.make, Make.name, "make"),
    Kind.DRAWS: ("sample", lambda row: row.sample, Draw.label, "sample"),
    Kind.CASKS: ("filling", lambda row: None if row.wood_only else row.label, Filling.label, ""),
}


def refuse_known(load: Load, kind: Kind, rows: Sequence[Any]) -> None:
    """Note every row whose record stands there already."""
    column, name_of, attribute, what = NAMES[kind]
    rows = [*rows, *load.unsound]
    named = {row.at: name for row in rows if (name := _read(name_of, row)) is not None}
    known = set(fetch(load.db, select(attribute), attribute, set(named.values())))
    for row in rows:
        name = named.get(row.at)
        if name in known:
            words = f"there is a {what or column} {name} already: give this one a name of its own"
            load.fault(row.at, column, name, words)
    if kind is Kind.CASKS:
        _refuse_known_wood(load, rows)


def _read(name_of: Callable[[Any], str | None], row: Any) -> str | None:
    """Return the name in a row; a row with faults may lack the cell."""
    try:
        return name_of(row)
    except AttributeError:
        return None


def _refuse_known_wood(load: Load, rows: Sequence[Any]) -> None:
    """Note wood that is known, and a new filling that would make another cask of its wood."""
    rows = [row for row in rows if _read(lambda each: each.cask, row)]
    numbers = {row.cask for row in rows}
    known = {cask.number: cask for cask in fetch(load.db, select(Cask), Cask.number, numbers)}
    for row in rows:
        cask = known.get(row.cask)
        if cask is None:
            continue
        if getattr(row, "filled_on", row) is None:
            load.fault(row.at, "cask", row.cask, f"there is a cask {row.cask} already")
        for column in ("wood", "size_l"):
            stands = getattr(cask, column)
            said = getattr(row, column, stands)
            if said != stands:
                words = f"cask {row.cask} is known already, and there it is {stands}"
                load.fault(row.at, column, said, words)
