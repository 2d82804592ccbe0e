"""Pictures to stand inside a page: drawn for a sheet of paper and again for a telephone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.pictures.svg import to_svg
from analysis.pictures.svg_ink import STYLE

if TYPE_CHECKING:
    from analysis.pictures import Picture, Plane

WIDE, NARROW = 700.0, 328.0
"""Within the margins of a page 46 rem wide, and of a telephone 360 pixels wide."""

__all__ = ["STYLE", "Drawn", "drawn_twice"]


@dataclass(frozen=True)
class Drawn:
    """A picture with its words beside it: the question it answers and the answer."""

    title: str
    says: str
    wide: str
    narrow: str


def drawn_twice(picture: Picture | Plane) -> Drawn:
    """Return a picture for both widths; title and sentence stand on the page, not in it."""
    wide, narrow = (to_svg(picture, width=width, with_words=False) for width in (WIDE, NARROW))
    return Drawn(picture.title, picture.says, wide.strip(), narrow.strip())
