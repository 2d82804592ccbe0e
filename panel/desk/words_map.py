"""The consensus map of a session in own words, as letters on a field."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from panel.desk.scale_line import LETTERS

if TYPE_CHECKING:
    from analysis.agreement.own_words import Axis, OwnWords

NEIGHBOURS = (0, 1, -1, 2, -2, 3, -3)
LEAST_HEIGHT = 7
LEGEND_LINES = 5


def map_picture(result: OwnWords, width: int, height: int) -> list[str]:
    """Return samples as letters on the first two directions, and what stands for their ends."""
    height = max(height - LEGEND_LINES, LEAST_HEIGHT)
    reach = max((abs(v) for place in result.samples for v in (place.x, place.y)), default=1.0)
    cells = [[" "] * width for _ in range(height)]
    middle_row, middle = height // 2, width // 2
    cells[middle_row] = ["·"] * width
    for row in cells:
        row[middle] = "┊"
    for letter, place in zip(LETTERS, result.samples, strict=False):
        across = round((1 + place.x / (reach or 1.0)) / 2 * (width - 1))
        down = round((1 - place.y / (reach or 1.0)) / 2 * (height - 1))
        _put(cells[down], across, letter)
    key = "  ".join(
        f"{letter} {place.sample}" for letter, place in zip(LETTERS, result.samples, strict=False)
    )
    return ["".join(row) for row in cells] + [key, *_ends(result.axes[:2])]


def _put(row: list[str], across: int, letter: str) -> None:
    """Set a letter, or beside it where another stands already."""
    for shift in NEIGHBOURS:
        if 0 <= across + shift < len(row) and row[across + shift] in " ·┊":
            row[across + shift] = letter
            return


def _ends(axes: Sequence[Axis]) -> list[str]:
    lines = []
    for name, (low, high), axis in zip(
        ("Across", "Up"), (("left", "right"), ("below", "above")), axes, strict=False
    ):
        known = "" if axis.shared else ", no more than chance"
        words = (
            f"{low} {', '.join(axis.low_words) or '-'}; {high} {', '.join(axis.high_words) or '-'}"
        )
        lines.append(f"{name} ({axis.percent:.0f} %{known}): {words}")
    return lines
