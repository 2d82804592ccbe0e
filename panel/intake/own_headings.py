"""Headings of a house's own, and orders of dates, said once and kept for files of that shape.

They are kept beside the settings of the house, one line a kind, so that the command and the desk
read the same; no setting of `house show` is of that name.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from difflib import get_close_matches

from sqlalchemy.orm import Session

from panel.intake.columns import Columns, plain_heading
from panel.intake.day_order import DayOrder
from panel.intake.headings import Finder, Kept, Own, Shape, shape_of
from panel.intake.kinds import Kind
from panel.intake.said import Said
from panel.intake.table import Table
from panel.problems import Problem
from panel.store.house_setting import HouseSetting

MOST_SHAPES = 40
"""Of a kind; the one that was longest not said anew is forgotten."""


def read_kept(db: Session, kind: Kind) -> dict[Shape, Kept]:
    """Return what was said before of files of a kind, by their sets of headings."""
    stored = db.get(HouseSetting, _name(kind))
    if stored is None:
        return {}
    return {
        frozenset(each["headings"]): Kept(
            each["columns"], {name: DayOrder(order) for name, order in each["dates"].items()}
        )
        for each in json.loads(stored.value)
    }


def keep(db: Session, kind: Kind, headings: Sequence[str], said: Said, dates: Own) -> bool:
    """Keep what was said of a file with these headings; return whether that is new.

    *dates* are the orders that were asked and taken, by our column.
    """
    before = read_kept(db, kind)
    shape = shape_of(headings)
    known = before.pop(shape, Kept())
    columns = {plain: ours for plain, ours in said.compared.items() if plain in shape}
    orders = {name: DayOrder(order) for name, order in dates.items() if order}
    kept = Kept({**known.columns, **columns}, {**known.dates, **orders})
    if kept == known:
        return False
    shapes = [(shape, kept), *before.items()][:MOST_SHAPES]
    value = [
        {"headings": sorted(shape), "columns": dict(each.columns), "dates": dict(each.dates)}
        for shape, each in shapes
    ]
    text = json.dumps(value, ensure_ascii=False, sort_keys=True)
    stored = db.get(HouseSetting, _name(kind))
    if stored is None:
        db.add(HouseSetting(name=_name(kind), value=text))
    else:
        stored.value = text
    return True


def _name(kind: Kind) -> str:
    return f"headings of {kind.value}"


def under_our_names(table: Table, find: Finder) -> Table:
    """Return the table with the headings that were said under our names."""
    own = find.own(table.headings)
    if not own:
        return table
    plain = [plain_heading(heading) for heading in table.headings]
    left = frozenset(i for i, each in enumerate(plain) if each in own and own[each] is None)
    return replace(table, headings=tuple(find.ours(table.headings)), left_out=left)


def said_faults(table: Table, find: Finder, columns: Columns, kind: Kind) -> list[Problem]:
    """Return the faults of what was said: a heading the file has not, a column we have not."""
    shape = shape_of(table.headings)
    place = (table.file, table.heading_row)
    faults = []
    for heading, column in find.given.items():
        if heading not in shape:
            words = f"no heading of the file is called this; there are: {', '.join(table.headings)}"
            faults.append(Problem(*place, "", heading, words))
        if column is not None and not columns.open and column not in columns.known:
            close = get_close_matches(plain_heading(column), columns.known, n=1)
            near = f"nearest: {close[0]}" if close else f"there are: {', '.join(columns.known)}"
            words = f"{kind.value} have no column {column}; {near}"
            faults.append(Problem(*place, "", f"{heading}={column}", words))
    return faults
