"""The two themes of the booth: a quiet room, lamp lit or by daylight."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from textual.theme import Theme

from panel.seat import looks


def _theme(name: str, look: Mapping[str, Any], *, dark: bool) -> Theme:
    return Theme(name=name, dark=dark, **look)


LAMPLIGHT = _theme("lamplight", looks.LAMPLIGHT, dark=True)
DAYLIGHT = _theme("daylight", looks.DAYLIGHT, dark=False)
