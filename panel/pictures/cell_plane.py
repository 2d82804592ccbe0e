"""How the pen for terminal cells draws a curve over two lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.age_words import age_figure
from analysis.cell_text import cells, cut
from analysis.pictures.growth import LINE

if TYPE_CHECKING:
    from analysis.pictures import Facet, Plane, Stretch

HEIGHT = 12
LEFT = 5


@dataclass(frozen=True)
class Ground:
    """The cells of a plane and where a value stands in them."""

    across: Facet
    up: Facet
    room: int
    height: int

    def column(self, value: float) -> int:
        """Return the cell across."""
        share = (value - self.across.low) / (self.across.high - self.across.low)
        return round(min(max(share, 0.0), 1.0) * (self.room - 1))

    def line(self, value: float) -> int:
        """Return the line from the top."""
        share = (self.up.high - value) / (self.up.high - self.up.low)
        return round(min(max(share, 0.0), 1.0) * (self.height - 1))

    def value_at(self, column: int) -> float:
        """Return what stands below a cell."""
        return self.across.low + (self.across.high - self.across.low) * column / (self.room - 1)


@dataclass(frozen=True)
class Here:
    """The curve at one place."""

    value: float
    low: float
    high: float
    stretch: Stretch


def plane_cells(plane: Plane, width: int, height: int = HEIGHT) -> list[str]:
    """Return the lines of a plane; the interval is left out where nothing is known.

    `height` is that of the plane itself, without figures, unit and bar.
    """
    ground = Ground(plane.across, plane.up, width - LEFT - 1, height)
    lines = [cut(plane.up.unit, width)] if plane.up.unit else []
    for at, row in enumerate(_drawn(plane, ground)):
        figure = plane.up.high - (plane.up.high - plane.up.low) * at / (height - 1)
        told = f"{figure:.0f}" if at in {0, height - 1} else ""
        lines.append(f"{told:>{LEFT - 1}} {''.join(row)}".rstrip())
    lines.append(" " * LEFT + _figures(plane, ground.room))
    return [*lines, *_ready(plane, ground, width)]


def _drawn(plane: Plane, ground: Ground) -> list[list[str]]:
    grid = [[" "] * ground.room for _ in range(ground.height)]
    places = [(at, _at(plane, ground.value_at(at))) for at in range(ground.room)]
    found = [(at, here) for at, here in places if here is not None]
    for at, here in found:
        if here.stretch.known:
            for row in range(ground.line(here.high), ground.line(here.low) + 1):
                grid[row][at] = "░"
    for edge in plane.aim or ():  # over the interval, which is to be read against it
        grid[ground.line(edge)] = ["╌"] * ground.room
    for at, here in found:
        grid[ground.line(here.value)][at] = LINE[here.stretch.firm]
    for across, value, _low, _high in plane.dots:
        grid[ground.line(value)][ground.column(across)] = "○"
    return grid


def _at(plane: Plane, across: float) -> Here | None:
    for stretch in plane.curve:
        for at in range(1, len(stretch.across)):
            first, last = stretch.across[at - 1], stretch.across[at]
            if first <= across <= last:
                share = (across - first) / (last - first) if last > first else 0.0
                return _between(stretch, at, share)
    return None


def _between(stretch: Stretch, at: int, share: float) -> Here:
    value, low, high = (
        values[at - 1] + share * (values[at] - values[at - 1])
        for values in (stretch.value, stretch.low, stretch.high)
    )
    return Here(value, low, high, stretch)


def _figures(plane: Plane, room: int) -> str:
    first, last = age_figure(plane.across.low), age_figure(plane.across.high)
    middle = f"{age_figure((plane.across.low + plane.across.high) / 2)} {plane.across.unit}".strip()
    blank = room - len(first) - len(last) - cells(middle)
    if blank < 2:
        return f"{first} {last}"
    return f"{first}{'':{blank // 2}}{middle}{'':{blank - blank // 2}}{last}"


def _ready(plane: Plane, ground: Ground, width: int) -> list[str]:
    if plane.ready is None:
        return []
    words = plane.ready.words
    first, last = ground.column(plane.ready.start), ground.column(plane.ready.end)
    bar = f"{'':{LEFT + first}}{'█' * (last - first)}{'►' if plane.ready.further else '█'}"
    if cells(bar) + 1 + cells(words) <= width:
        return [f"{bar} {words}"]
    return [bar, cut(words, width)]
