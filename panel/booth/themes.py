"""The two themes of the booth: a quiet room, lamp lit or by daylight."""

from __future__ import annotations

from textual.theme import Theme

from panel.seat import looks

LAMPLIGHT = Theme(name="lamplight", dark=True, **looks.LAMPLIGHT)
DAYLIGHT = Theme(name="daylight", dark=False, **looks.DAYLIGHT)
