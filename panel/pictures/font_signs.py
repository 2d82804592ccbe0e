"""Which signs the font has that lies with the program: read from its own table of signs."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from struct import unpack_from

FORMAT = 12
"""The table that holds every sign of a font, in stretches (OpenType, cmap, format 12)."""


@cache
def signs_of_font(path: Path) -> tuple[range, ...]:
    """Return the signs that a font draws, as stretches of code points.

    Raises
    ------
    ValueError
        The font has no such table.
    """
    font = path.read_bytes()
    count = unpack_from(">H", font, 4)[0]
    tables = {
        font[at : at + 4]: unpack_from(">I", font, at + 8)[0]
        for at in range(12, 12 + 16 * count, 16)
    }
    cmap = tables[b"cmap"]
    for at in range(cmap + 4, cmap + 4 + 8 * unpack_from(">H", font, cmap + 2)[0], 8):
        own = cmap + unpack_from(">I", font, at + 4)[0]
        if unpack_from(">H", font, own)[0] == FORMAT:
            groups = range(own + 16, own + 16 + 12 * unpack_from(">I", font, own + 12)[0], 12)
            pairs = (unpack_from(">II", font, group) for group in groups)
            return tuple(range(first, last + 1) for first, last in pairs)
    raise ValueError(f"{path.name} has no table of all its signs.")
