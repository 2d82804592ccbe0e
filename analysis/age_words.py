"""An age as people read it, wherever it stands."""

from __future__ import annotations

import math

from .digits import in_digits

_BESIDE_CALENDAR = 0.76 / 365.25


def age_figure(years: float) -> str:
    """Return an age in years with one decimal, rounded down: nothing is called 10.0 before it is.

    Years of 365.25 days lie up to three quarters of a day beside those of the calendar: what is
    short of a tenth by no more than that is that tenth.
    """
    return in_digits(math.floor((years + _BESIDE_CALENDAR) * 10) / 10, ".1f")
