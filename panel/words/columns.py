"""Plain columns of text, numbers to the right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def columns(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> list[str]:
    """Return a heading line and a line a row, two spaces between the columns."""
    cells = [[str(cell) for cell in row] for row in rows]
    widths = [
        max([len(heading), *(len(row[i]) for row in cells)]) for i, heading in enumerate(headings)
    ]
    right = [bool(cells) and all(_numeric(row[i]) for row in cells) for i in range(len(headings))]
    return [_line(row, widths, right) for row in [list(headings), *cells]]


def _line(row: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    parts = [
        cell.rjust(width) if to_right else cell.ljust(width)
        for cell, width, to_right in zip(row, widths, right, strict=True)
    ]
    return "  ".join(parts).rstrip()


def _numeric(cell: str) -> bool:
    bare = cell.lstrip("<+-").replace(".", "", 1).replace("/", "", 1).replace("%", "")
    return cell in {"", "-"} or bare.strip().isdigit()
