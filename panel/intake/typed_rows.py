"""Rows typed into a form: each cell stands alone, so that it is read where it means one thing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from panel.figures import COMMA, PERHAPS_THOUSANDS
from panel.intake.day_order import meant_day
from panel.intake.decimals import narrow
from panel.intake.kinds import Kind
from panel.intake.loading import columns_of
from panel.intake.meanings import day_columns


def as_meant(kind: Kind, rows: Sequence[Mapping[str, str]]) -> list[dict[str, str]]:
    """Return the rows with their days and decimals as a file has them.

    What could mean two things stays, and is refused with both.
    """
    days = day_columns(kind)
    numbers = columns_of(kind, tuple(rows[0]) if rows else ()).numbers

    def read(column: str, text: str) -> str:
        if column in days:
            return meant_day(text)
        return meant_number(text) if column in numbers else text

    return [{column: read(column, text) for column, text in row.items()} for row in rows]


def meant_number(text: str) -> str:
    """Return a number with the point of a file, where its comma can mean only that."""
    plain = narrow(text)
    if COMMA.fullmatch(plain) and not PERHAPS_THOUSANDS.fullmatch(plain):
        return plain.replace(",", ".")
    return text
