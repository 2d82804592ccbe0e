"""Plain columns of text, numbers to the right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from analysis.cell_text import cells, folded, padded

LEAST_ROOM = 16
INDENT = " " * 4


def columns(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> list[str]:
    """Return a heading line and a line a row, two spaces between the columns."""
    told = [[str(cell) for cell in row] for row in rows]
    by_column = list(zip(*told, strict=True)) or [()] * len(headings)
    widths = [
        max(map(cells, {heading, *column}))
        for heading, column in zip(headings, by_column, strict=True)
    ]
    right = [bool(column) and all(map(_numeric, set(column))) for column in by_column]
    whole = [
        _as_wide([heading, *column], width, to_right)
        for heading, column, width, to_right in zip(headings, by_column, widths, right, strict=True)
    ]
    return ["  ".join(parts).rstrip() for parts in zip(*whole, strict=True)]


def columns_within(
    headings: Sequence[str], rows: Iterable[Sequence[object]], width: int
) -> list[str]:
    """Return such lines in at most *width* cells: the last column is folded below itself.

    Where too little room is left for it, whole columns go on in a second line.
    """
    told = [[str(cell) for cell in row] for row in rows]
    whole = columns(headings, told)
    if max(map(cells, whole)) <= width or len(headings) < 2:
        return whole
    left = columns(headings[:-1], [row[:-1] for row in told])
    start = max(map(cells, left)) + 2
    last = [headings[-1], *(row[-1] for row in told)]
    if width - start < LEAST_ROOM:
        return _broken(headings, told, width)
    found: list[str] = []
    for line, cell in zip(left, last, strict=True):
        first, *more = folded(cell, width - start) or [""]
        found.append(f"{padded(line, start)}{first}".rstrip())
        found += [" " * start + part for part in more]
    return found


def _broken(headings: Sequence[str], told: Sequence[Sequence[str]], width: int) -> list[str]:
    """Return two lines a row: the columns that fit, and below them the others."""
    most = next(
        count
        for count in range(len(headings) - 1, 0, -1)
        if count == 1 or cells(_widest(headings, told, count)) <= width
    )
    first = columns(headings[:most], [row[:most] for row in told])
    rest = columns(headings[most:], [row[most:] for row in told])
    return [part for pair in zip(first, rest, strict=True) for part in (pair[0], INDENT + pair[1])]


def _widest(headings: Sequence[str], told: Sequence[Sequence[str]], count: int) -> str:
    return max(columns(headings[:count], [row[:count] for row in told]), key=cells)


def _as_wide(column: Sequence[str], width: int, right: bool) -> list[str]:
    """Cells of just so many signs; what stands in a long column again and again is padded once."""
    wide = {cell: padded(cell, width, right=right) for cell in set(column)}
    return [wide[cell] for cell in column]


def _numeric(cell: str) -> bool:
    bare = cell.lstrip("<+-").replace(".", "", 1).replace("/", "", 1).replace("%", "")
    return cell in {"", "-"} or bare.strip().isdigit()
