"""Text that prints on A4: 80 columns, cells wrapped, nothing but printable characters."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from itertools import zip_longest

WIDTH = 80
GAP = "  "


def printable(text: str) -> str:
    """Return the text with everything that could steer a terminal or printer made visible."""
    return "".join(mark if mark.isprintable() else "?" for mark in text)


def paragraph(text: str, *, bullet: str = "") -> list[str]:
    """Return the text in lines of the paper's width, hanging behind the bullet."""
    hang = " " * len(bullet)
    text = printable(text)
    return textwrap.wrap(text, WIDTH, initial_indent=bullet, subsequent_indent=hang)


def rule(mark: str = "-") -> str:
    """Return a line across the paper."""
    return mark * WIDTH


def columns(
    headings: Sequence[str], rows: Iterable[Sequence[str]], widths: Sequence[int]
) -> list[str]:
    """Return rows under headings; a cell wider than its column goes on below itself.

    A width below zero sets the column to the right.
    """
    lines = _row(headings, widths)
    for row in rows:
        lines += _row([printable(cell) for cell in row], widths)
    return lines


def _row(cells: Sequence[str], widths: Sequence[int]) -> list[str]:
    wrapped = [
        textwrap.wrap(cell, abs(width)) or [""] for cell, width in zip(cells, widths, strict=True)
    ]
    return [
        GAP.join(
            part.rjust(-width) if width < 0 else part.ljust(width)
            for part, width in zip(parts, widths, strict=True)
        ).rstrip()
        for parts in zip_longest(*wrapped, fillvalue="")
    ]
