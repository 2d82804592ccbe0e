"""Plain columns of text, numbers to the right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from analysis.cell_text import cells, padded


def columns(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> list[str]:
    """Return a heading line and a line a row, two spaces between the columns."""
    told = [[str(cell) for cell in row] for row in rows]
    by_column = list(zip(*told, strict=True)) or [()] * len(headings)
    widths = [
        max(map(cells, (heading, *column)))
        for heading, column in zip(headings, by_column, strict=True)
    ]
    right = [bool(column) and all(map(_numeric, column)) for column in by_column]
    return [_line(row, widths, right) for row in [list(headings), *told]]


def _line(row: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    parts = [
        padded(cell, width, right=to_right)
        for cell, width, to_right in zip(row, widths, right, strict=True)
    ]
    return "  ".join(parts).rstrip()


def _numeric(cell: str) -> bool:
    bare = cell.lstrip("<+-").replace(".", "", 1).replace("/", "", 1).replace("%", "")
    return cell in {"", "-"} or bare.strip().isdigit()
