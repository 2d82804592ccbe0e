"""How each style and cask develops with age, and when a cask will meet a target."""

from analysis.ageing.estimate import Asked, estimate_ageing
from analysis.ageing.result import Ageing, Curve, Mark, Outside, Point, Reading, Window
from analysis.ageing.settings import AgeingSettings

__all__ = [
    "Ageing",
    "AgeingSettings",
    "Asked",
    "Curve",
    "Mark",
    "Outside",
    "Point",
    "Reading",
    "Window",
    "estimate_ageing",
]
