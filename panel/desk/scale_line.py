"""The line of a descriptor drawn in characters: places, letters, bars, an axis."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from string import ascii_lowercase, ascii_uppercase

from panel.figures import in_digits

LETTERS = ascii_lowercase + ascii_uppercase
GUIDE = "┊"


@dataclass(frozen=True)
class ScaleLine:
    """A stretch of a line of points, `low` to `high`, drawn in `width` cells."""

    width: int
    low: float = 0.0
    high: float = 100.0

    def place(self, value: float) -> int:
        """Return the cell of a value; what lies outside stands at the end."""
        share = (value - self.low) / (self.high - self.low)
        return max(0, min(round(share * (self.width - 1)), self.width - 1))

    def holds(self, value: float) -> bool:
        """Tell whether a value lies on the stretch."""
        return self.low <= value <= self.high

    def axis(self) -> str:
        """Return the figures under the line: both ends and the quarters between."""
        cells = [" "] * self.width
        for quarter in range(5):
            value = self.low + (self.high - self.low) * quarter / 4
            figure = in_digits(value, ".3g")
            start = max(0, min(self.place(value) - len(figure) // 2, self.width - len(figure)))
            cells[start : start + len(figure)] = figure
        return "".join(cells)

    def letters(self, values: Mapping[str, float], guide: float | None = None) -> str:
        """Return the line with a sign at each value and a stroke from the lowest to the highest.

        Signs that meet stand side by side in the order of their values, so that the order can
        always be read. *guide* draws an upright through the line, such as the panel's mean.
        """
        cells = [" "] * self.width
        if guide is not None and self.holds(guide):
            cells[self.place(guide)] = GUIDE
        ranked = sorted(values, key=lambda sign: (values[sign], sign))[: self.width]
        places = spread([self.place(values[sign]) for sign in ranked], self.width)
        if places:
            for cell in range(places[0], places[-1]):
                cells[cell] = "┼" if cells[cell] == GUIDE else "─"
        for sign, cell in zip(ranked, places, strict=True):
            cells[cell] = sign
        return "".join(cells)

    def bar(self, low: float, value: float, high: float, *, sign: str = "●") -> str:
        """Return an interval with its value; an end that lies off the stretch is an arrow."""
        cells = [" "] * self.width
        first, last = self.place(low), self.place(high)
        for cell in range(first, last + 1):
            cells[cell] = "─"
        cells[first] = "├" if low >= self.low else "◂"
        cells[last] = "┤" if high <= self.high else "▸"
        if self.holds(value):
            cells[self.place(value)] = sign
        return "".join(cells)


def spread(places: list[int], width: int) -> list[int]:
    """Return rising places moved apart as little as may be, none on another, all within *width*."""
    right = _apart(places)
    left = [width - 1 - cell for cell in reversed(_apart([width - 1 - p for p in places[::-1]]))]
    middle = [(one + other) // 2 for one, other in zip(left, right, strict=True)]
    back = _apart([width - 1 - cell for cell in reversed(middle)])
    return _apart([max(width - 1 - cell, 0) for cell in reversed(back)])


def _apart(places: list[int]) -> list[int]:
    moved: list[int] = []
    for place in places:
        moved.append(max(place, moved[-1] + 1) if moved else max(place, 0))
    return moved


def over(ground: str, drawn: str) -> str:
    """Return *drawn* laid over *ground*: its blanks let the ground be seen."""
    return "".join(
        below if above == " " else above for below, above in zip(ground, drawn, strict=True)
    )
