"""Text that prints on A4: 80 columns, cells wrapped, nothing but printable characters.

Sheets that tell the key go into files of their own, which only their owner can read.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from pathlib import Path

from analysis.cell_text import folded, padded
from panel.errors import OakpanelError

WIDTH = 80
OWNER_ONLY = 0o600
GAP = "  "


def printable(text: str) -> str:
    """Return the text with everything that could steer a terminal or printer made visible."""
    return "".join(mark if mark.isprintable() else "?" for mark in text)


def paragraph(text: str, *, bullet: str = "") -> list[str]:
    """Return the text in lines of the paper's width, hanging behind the bullet."""
    hang = " " * len(bullet)
    text = printable(text)
    return folded(text, WIDTH, initial_indent=bullet, subsequent_indent=hang)


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
    wrapped = [folded(cell, abs(width)) or [""] for cell, width in zip(cells, widths, strict=True)]
    return [
        GAP.join(
            padded(part, abs(width), right=width < 0)
            for part, width in zip(parts, widths, strict=True)
        ).rstrip()
        for parts in zip_longest(*wrapped, fillvalue="")
    ]


def write_private(path: Path, text: str | bytes) -> None:
    """Write a new file that only its owner can read.

    Raises
    ------
    OakpanelError
        A file stands there already, or it cannot be written.
    """
    try:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ONLY)
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode() if isinstance(text, str) else text)
    except FileExistsError:
        raise OakpanelError(f"{path} is there already; name a new file.") from None
    except OSError as error:
        raise OakpanelError(f"{path} cannot be written: {error.strerror}.") from error
