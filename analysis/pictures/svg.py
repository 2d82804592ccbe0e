"""The SVG pen: one self-contained drawing, for light and dark, for readers who do not see it.

Nothing in it is fetched and nothing runs. Its ink and paper are those of the page's light or dark
(`prefers-color-scheme`); what a colour would say, a sign, a weight or a place says. Letters are
measured generously and pushed apart, so that no two overprint. The same picture gives the same
bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from .marks import Picture, Plane
from .svg_ink import GAP, STYLE, WIDTH, Lines, text_width, wrapped
from .svg_plane import plane_lines
from .svg_rows import row_lines


def to_svg(*pictures: Picture | Plane) -> str:
    """Return one drawing of pictures that stand below each other.

    Raises
    ------
    ValueError
        There is none.
    """
    if not pictures:
        raise ValueError("A drawing needs a picture.")
    drawn = Lines()
    top = 0.0
    for picture in pictures:
        top = _one(picture, drawn, top) + GAP
    height = top - GAP + 8
    title = "; ".join(picture.title for picture in pictures)
    says = " ".join(picture.says for picture in pictures)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" '
        f'width="{WIDTH}" height="{height:.0f}" role="img" class="oak">'
        f"<title>{escape(title)}</title><desc>{escape(says)}</desc><style>{STYLE}</style>"
        f'<rect class="paper" width="{WIDTH}" height="{height:.0f}"/>'
    )
    return "\n".join([head, *drawn.made, "</svg>"]) + "\n"


def _one(picture: Picture | Plane, drawn: Lines, top: float) -> float:
    """Draw a picture from `top` on; return where it ends."""
    at = _block(drawn, wrapped(picture.title, WIDTH - 32, 15), top + 24, "title", 19)
    at += 6
    if isinstance(picture, Picture):
        at = row_lines(picture, drawn, at)
    else:
        at = plane_lines(picture, drawn, at)
    return _block(drawn, wrapped(picture.says, WIDTH - 32, 12), at + 20, "says", 16)


def _block(drawn: Lines, lines: Sequence[str], y: float, kind: str, step: float) -> float:
    for line in lines:
        drawn.words(16, y, line, kind)
        y += step
    return y - step


__all__ = ["text_width", "to_svg"]
