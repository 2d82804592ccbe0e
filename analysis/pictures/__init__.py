"""Pictures of results: frozen lists of marks, and the pen that draws them as SVG.

A picture answers one question. It is made from a result, knows nothing of a screen or a file, and
is drawn by a pen: :func:`to_svg` here, and terminal cells on the panel's side. The same result
gives the same bytes.
"""

from __future__ import annotations

from .marks import (
    Facet,
    Firm,
    Legend,
    Mark,
    Picture,
    Plane,
    Ready,
    Row,
    Shape,
    Sign,
    Stretch,
    Trust,
)
from .svg import to_svg

__all__ = [
    "Facet",
    "Firm",
    "Legend",
    "Mark",
    "Picture",
    "Plane",
    "Ready",
    "Row",
    "Shape",
    "Sign",
    "Stretch",
    "Trust",
    "to_svg",
]
