"""The pen for terminal cells: the same pictures in letters, for any width, without colour."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.cell_text import cells, folded
from analysis.pictures import Picture, Shape
from panel.pictures.cell_plane import plane_cells
from panel.pictures.cell_rows import SIGNS, row_cells

if TYPE_CHECKING:
    from analysis.pictures import Legend, Plane

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
        lines += (
            row_cells(picture, width)
            if isinstance(picture, Picture)
            else plane_cells(picture, width)
        )
        rows = isinstance(picture, Picture)
        lines += legend_cells(picture.legend, width, band=DRAWN[Shape.BAND] if rows else "╌╌")
        lines += folded(picture.says, width)
    return lines


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
