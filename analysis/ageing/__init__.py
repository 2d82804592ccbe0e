"""How each style and cask develops with age, and when a cask will meet a target."""

from .cover import COVER_NOTES, Cover
from .estimate import Asked, estimate_ageing
from .on_day import Moved, NotesOnDay, notes_on_day
from .result import Ageing, Curve, Mark, Outside, Point, Reading, Window
from .settings import AgeingSettings

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
    "estimate_ageing",
    "notes_on_day",
]
