"""The plain files of the kept house of revision 0002: those of 0001 as this program asks for them.

A cask that was filled again says when it was emptied, a topping names what it was topped from,
casks stand in parcels, and a note that ought to be absent is told as one.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

from tests.old_houses import records_0001 as first

Row = dict[str, str]


def _changed(text: str, columns: tuple[str, ...], change: Callable[[Row], None]) -> str:
    """Return a plain file with further columns and every row changed by *change*."""
    reader = csv.DictReader(io.StringIO(text.replace("\\\n", "")))
    rows = [dict.fromkeys(columns, "") | row for row in reader]
    for row in rows:
        change(row)
    out = io.StringIO()
    writer = csv.DictWriter(out, [*(reader.fieldnames or ()), *columns], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _stand(row: Row) -> None:
    row["parcel"] = {"Osier Shed": "spring parcel", "Weir Loft": "loft parcel"}.get(
        row["warehouse"], ""
    )
    row["emptied_on"] = "2021-06-10" if row["filling"] == "W05/1" else ""


def _from_whom(row: Row) -> None:
    if row["kind"] == "topped":
        row["parent"] = "W07/1"


def _absent(row: Row) -> None:
    row["ought_to_be_absent"] = "yes" if row["descriptor"] == "boat shed" else ""


MAKES, ASSESSORS, TARGETS = first.MAKES, first.ASSESSORS, first.TARGETS
archive, draws, gauges = first.archive, first.draws, first.gauges
CASKS = _changed(first.CASKS, ("parcel", "emptied_on"), _stand)
EVENTS = _changed(first.EVENTS, (), _from_whom)
LEXICON = _changed(first.LEXICON, ("ought_to_be_absent",), _absent)
