"""A growth curve as a picture of characters, for a terminal in black and white."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from analysis.ageing.result import Mark

if TYPE_CHECKING:
    from analysis.ageing import Curve, Point

MARKS = {Mark.NOSED: "*", Mark.RECKONED: "o", Mark.BEYOND: "."}
KEY = "* curve at ages nosed   o a little past them   . beyond, not known   : interval   X a draw"
LEFT = 5


def picture(curve: Curve, width: int = 80, height: int = 12) -> list[str]:
    """Return the curve drawn over age; the interval is left out where nothing is known."""
    points = curve.points
    columns = width - LEFT - 1
    low, high = _limits(curve)
    cells = [[" "] * columns for _ in range(height)]
    first, last = points[0].age_years, points[-1].age_years
    for x in range(columns):
        age = first + (last - first) * x / (columns - 1)
        point = _nearest(points, age)
        values = [_between(points, age, name) for name in ("estimate", "low", "high")]
        rows = [_row(value, low, high, height) for value in values]
        if point.known:
            for row in range(rows[2], rows[1] + 1):
                cells[row][x] = ":"
        cells[rows[0]][x] = MARKS[point.mark]
    for reading in curve.readings:
        x = round((reading.age_years - first) / max(last - first, 1e-9) * (columns - 1))
        if 0 <= x < columns:
            cells[_row(reading.reading, low, high, height)][x] = "X"
    lines = [
        f"{_scale(row, low, high, height):>{LEFT - 1}} {''.join(line)}".rstrip()
        for row, line in enumerate(cells)
    ]
    return [*lines, " " * LEFT + _ages(first, last, columns)]


def _limits(curve: Curve) -> tuple[float, float]:
    """The piece of the 0-100 line that is shown, in tens."""
    known = [point for point in curve.points if point.known] or list(curve.points)
    values = [value for point in known for value in (point.low, point.high)]
    values += [point.estimate for point in curve.points]
    values += [reading.reading for reading in curve.readings]
    low, high = 10 * (min(values) // 10), 10 * -(-max(values) // 10)
    return low, max(high, low + 10)


def _row(value: float, low: float, high: float, height: int) -> int:
    share = (high - min(max(value, low), high)) / (high - low)
    return round(share * (height - 1))


def _scale(row: int, low: float, high: float, height: int) -> str:
    """The figure beside a row: at both ends and in the middle."""
    if row not in {0, height - 1, (height - 1) // 2}:
        return ""
    return f"{high - (high - low) * row / (height - 1):.0f}"


def _nearest(points: Sequence[Point], age: float) -> Point:
    return min(points, key=lambda point: abs(point.age_years - age))


def _between(points: Sequence[Point], age: float, name: str) -> float:
    for before, after in pairwise(points):
        if age <= after.age_years:
            span = after.age_years - before.age_years
            share = (age - before.age_years) / span if span > 0 else 0.0
            start, end = float(getattr(before, name)), float(getattr(after, name))
            return start + share * (end - start)
    return float(getattr(points[-1], name))


def _ages(first: float, last: float, columns: int) -> str:
    middle = f"{(first + last) / 2:.0f} years"
    left, right = f"{first:.0f}", f"{last:.0f}"
    gap = columns - len(left) - len(right)
    return f"{left}{middle:^{max(gap, len(middle))}}{right}"
