"""Two bands on one line: a cask's own, and that of what stands beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.desk.scale_line import over

if TYPE_CHECKING:
    from panel.desk.found_lines import Band
    from panel.desk.scale_line import ScaleLine


def other_band(line: ScaleLine, band: Band) -> str:
    """Return the band of what stands beside, in signs of its own."""
    drawn = line.bar(band.low, band.value, band.high, sign="○")
    return drawn.replace("─", "·").replace("├", "(").replace("┤", ")")


def two_bands(line: ScaleLine, own: Band | None, other: Band | None) -> str:
    """Return one line with both bands; where both middles meet stands one sign for the two."""
    below = other_band(line, other) if other else " " * line.width
    above = line.bar(own.low, own.value, own.high) if own else " " * line.width
    drawn = over(below, above)
    if own is None or other is None:
        return drawn
    place = line.place(other.value)
    sign = "◉" if place == line.place(own.value) else "○"
    return drawn[:place] + sign + drawn[place + 1 :]
