"""How each style and cask develops with age, and when a cask will meet a target."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .cover import COVER_NOTES, Cover
    from .estimate import Asked, estimate_ageing
    from .on_day import Moved, NotesOnDay, notes_on_day
    from .result import Ageing, Curve, Mark, Outside, Point, Reading, Window
    from .settings import AgeingSettings
    from .spread import deciding_casks

__all__ = [
    "COVER_NOTES",
    "Ageing",
    "AgeingSettings",
    "Asked",
    "Cover",
    "Curve",
    "Mark",
    "Moved",
    "NotesOnDay",
    "Outside",
    "Point",
    "Reading",
    "Window",
    "deciding_casks",
    "estimate_ageing",
    "notes_on_day",
]

__getattr__ = names_from(
    __name__,
    {
        "COVER_NOTES": "cover",
        "Ageing": "result",
        "AgeingSettings": "settings",
        "Asked": "estimate",
        "Cover": "cover",
        "Curve": "result",
        "Mark": "result",
        "Moved": "on_day",
        "NotesOnDay": "on_day",
        "Outside": "result",
        "Point": "result",
        "Reading": "result",
        "Window": "result",
        "deciding_casks": "spread",
        "estimate_ageing": "estimate",
        "notes_on_day": "on_day",
    },
)
