"""The pen for terminal cells: the same pictures in letters, for any width, without colour."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.cell_text import cells, folded
from analysis.pictures import Picture, Shape
from panel.pictures.cell_plane import HEIGHT, plane_cells
from panel.pictures.cell_rows import SIGNS, row_cells

if TYPE_CHECKING:
    from analysis.pictures import Legend, Plane

LEAST = 6
"""Lines below which a curve is no picture."""
DRAWN = {
    Shape.SPAN: "├─┤",
    Shape.SIZE: "└┄┘",
    Shape.EDGE: "│",
    Shape.BAND: "░░",
    Shape.BAR: "██",
}


def to_cells(*pictures: Picture | Plane, width: int = 80) -> list[str]:
    """Return the lines of pictures that stand below each other, none wider than `width`."""
    lines: list[str] = []
    for picture in pictures:
        if lines:
            lines.append("")
        lines += folded(picture.title, width)
        if isinstance(picture, Picture):
            lines += row_cells(picture, width)
            lines += legend_cells(picture.legend, width, band=DRAWN[Shape.BAND])
        else:
            lines += plane_alone(picture, width)
        lines += folded(picture.says, width)
    return lines


def plane_alone(plane: Plane, width: int, height: int | None = None) -> list[str]:
    """Return the lines of a plane and of its legend, without its words.

    `height` is that of all these lines where it can be met.
    """
    legend = legend_cells(plane.legend, width, band="╌╌")
    rest = len(legend) + len(plane_cells(plane, width)) - HEIGHT
    drawn = HEIGHT if height is None else max(height - rest, LEAST)
    return [*plane_cells(plane, width, drawn), *legend]


def legend_cells(legend: tuple[Legend, ...], width: int, *, band: str) -> list[str]:
    """Return what the marks mean, as many to a line as fit; an aim across a plane is two lines."""
    lines: list[str] = []
    for one in legend:
        sign = (
            band if one.shape is Shape.BAND else DRAWN.get(one.shape) or one.text or SIGNS[one.sign]
        )
        said = f"{sign} {one.words}"
        joined = f"{lines[-1]}   {said}" if lines else said
        if lines and cells(joined) <= width:
            lines[-1] = joined
        else:
            lines += folded(said, width, subsequent_indent="  ")
    return lines
