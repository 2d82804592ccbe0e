"""Text measured in the cells of a terminal: a wide sign takes two, a combining one none."""

from __future__ import annotations

from textwrap import TextWrapper, wrap
from typing import Any
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
    if text.isascii() and len(text) <= width:
        return text.rjust(width) if right else text.ljust(width)
    shown = cut(text, width)
    blanks = " " * (width - cells(shown))
    return blanks + shown if right else shown + blanks


class _Chunk(str):
    """A piece of text that is as long as the cells it takes."""

    __slots__ = ()

    def __len__(self) -> int:
        return cells(str.__str__(self))


class _ByCells(TextWrapper):
    """Folds by cells what its base folds by signs."""

    def _split(self, text: str) -> list[str]:
        return [_Chunk(chunk) for chunk in super()._split(text)]

    def _handle_long_word(
        self, reversed_chunks: list[str], cur_line: list[str], cur_len: int, width: int
    ) -> None:
        chunk = str.__str__(reversed_chunks[-1])
        narrow = all(_cells_of(sign) == 1 for sign in chunk)
        if narrow or not self.break_long_words:
            super()._handle_long_word(reversed_chunks, cur_line, cur_len, width)
            return
        fits, room = 0, width - cur_len
        for sign in chunk:
            room -= _cells_of(sign)
            if room < 0:
                break
            fits += 1
        if not fits and cur_line:
            return  # the next line has room for it
        fits = max(fits, 1)
        cur_line.append(_Chunk(chunk[:fits]))
        reversed_chunks[-1] = _Chunk(chunk[fits:])


def folded(text: str, width: int, **options: Any) -> list[str]:
    """Return a text in lines of at most `width` cells, as `textwrap.wrap` does by signs.

    Parameters
    ----------
    options
        As of `textwrap.wrap`.
    """
    if text.isascii():
        return wrap(text, width, **options)
    return [str.__str__(line) for line in _ByCells(width=width, **options).wrap(text)]
