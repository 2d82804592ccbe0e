"""What curves and windows are drawn with."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..influences import InfluenceSettings
from ..influences.together import SHARED


@dataclass(frozen=True)
class AgeingSettings:
    """Settings of curves and windows.

    Attributes
    ----------
    influences
        Settings of the model below.
    years_ahead
        Nothing is foretold further than this from the date asked.
    months_apart
        Step of the dates that a window is sought among.
    least_chance
        A cask meets a target while the chance is at least this.
    shared
        How far the casks' own deviations are held to go together over the descriptors as found,
        the rest being taken as independent (0 to 1): few casks overstate it.
    least_casks_a_style
        A style nosed on fewer casks is not drawn unless it is asked for.
    points_a_curve
        Ages at which a curve is given.
    """

    influences: InfluenceSettings = field(default_factory=InfluenceSettings)
    years_ahead: float = 3.0
    months_apart: int = 1
    least_chance: float = 0.5
    shared: float = SHARED
    least_casks_a_style: int = 3
    points_a_curve: int = 13
