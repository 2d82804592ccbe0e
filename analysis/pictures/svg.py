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
from .svg_ink import GAP, STYLE, WIDTH, Lines, number, text_width, wrapped
from .svg_plane import plane_lines
from .svg_rows import row_lines


def to_svg(*pictures: Picture | Plane, width: float = WIDTH, with_words: bool = True) -> str:
    """Return one drawing of pictures that stand below each other.

    Parameters
    ----------
    width
        In pixels of the drawing; below `NARROW` names stand above their rows.
    with_words
        Whether title and sentence are drawn; a page may have them as text. Who does not see the
        drawing is told them in any case.

    Raises
    ------
    ValueError
        There is none.
    """
    if not pictures:
        raise ValueError("A drawing needs a picture.")
    drawn = Lines(width=width)
    top = 0.0
    for picture in pictures:
        top = _one(picture, drawn, top, with_words=with_words) + GAP
    height = top - GAP + 8
    title = "; ".join(picture.title for picture in pictures)
    says = " ".join(picture.says for picture in pictures)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(width)} {height:.0f}" '
        f'width="{number(width)}" height="{height:.0f}" role="img" class="oak">'
        f"<title>{escape(title)}</title><desc>{escape(says)}</desc><style>{STYLE}</style>"
        f'<rect class="paper" width="{number(width)}" height="{height:.0f}"/>'
    )
    return "\n".join([head, *drawn.made, "</svg>"]) + "\n"


def _one(picture: Picture | Plane, drawn: Lines, top: float, *, with_words: bool) -> float:
    """Draw a picture from `top` on; return where it ends."""
    room = drawn.width - 32
    at = top
    if with_words:
        at = _block(drawn, wrapped(picture.title, room, 15), top + 24, "title", 19) + 6
    if isinstance(picture, Picture):
        at = row_lines(picture, drawn, at)
    else:
        at = plane_lines(picture, drawn, at)
    if not with_words:
        return at
    return _block(drawn, wrapped(picture.says, room, 12), at + 20, "says", 16)


def _block(drawn: Lines, lines: Sequence[str], y: float, kind: str, step: float) -> float:
    for line in lines:
        drawn.words(16, y, line, kind)
        y += step
    return y - step


__all__ = ["text_width", "to_svg"]
