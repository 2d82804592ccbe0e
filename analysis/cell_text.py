"""Text measured in the cells of a terminal: a wide sign takes two, a combining one none."""

from __future__ import annotations

from unicodedata import category, east_asian_width

ELLIPSIS = "…"


def cells(text: str) -> int:
    """Return how many cells a text takes; wide signs are two (Unicode Standard Annex 11)."""
    if text.isascii():
        return len(text)
    return sum(map(_cells_of, text))


def _cells_of(sign: str) -> int:
    if category(sign) in {"Mn", "Me", "Cf"}:
        return 0
    return 2 if east_asian_width(sign) in {"W", "F"} else 1


def cut(text: str, width: int) -> str:
    """Return a text of at most `width` cells; what is cut off is told by an ellipsis."""
    if cells(text) <= width:
        return text
    if width <= 0:
        return ""
    kept, room = "", width - 1
    for sign in text:
        room -= _cells_of(sign)
        if room < 0:
            break
        kept += sign
    return kept + ELLIPSIS


def padded(text: str, width: int, *, right: bool = False) -> str:
    """Return a text of just `width` cells, cut or filled with blanks, to the left or the right."""
    shown = cut(text, width)
    blanks = " " * (width - cells(shown))
    return blanks + shown if right else shown + blanks
