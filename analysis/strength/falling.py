"""In which months casks fall under a strength: by their own yearly fall and the error of gauges."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..array_types import Floats
from ..days import DAYS_A_YEAR
from .content import Gauged, contents_on

DAYS_A_MONTH = DAYS_A_YEAR / 12.0


@dataclass(frozen=True, eq=False)
class Falls:
    """Months from the day asked until casks are under a strength, one row a cask.

    Attributes
    ----------
    expected, earliest, latest
        Infinite where that is beyond what was looked at. Nine in ten casks fall between the
        earliest and the latest; 0 is by the day asked.
    """

    expected: Floats
    earliest: Floats
    latest: Floats


def falls_under(gauged: Gauged, floor_abv_percent: float, *, months: int) -> Falls:
    """Look month by month when casks fall under a strength.

    Parameters
    ----------
    gauged
        The casks, moved to the day asked (`since_years`).
    floor_abv_percent
        The strength, % vol.
    months
        How far is looked.

    Notes
    -----
    Strength on each day and its ends are those of `content.contents_on`, so a cask is said to be
    under it here on the day on which it is there.
    """
    found = Falls(*(np.full(len(gauged.abv_percent), np.inf) for _ in range(3)))
    for month in range(months + 1):
        years = gauged.since_years + month * DAYS_A_MONTH / DAYS_A_YEAR
        then = contents_on(replace(gauged, since_years=years))
        low, high = then.abv_between()
        for when, abv in (
            (found.expected, then.abv_percent),
            (found.earliest, low),
            (found.latest, high),
        ):
            fallen = (abv < floor_abv_percent) & ~np.isfinite(when)
            when[fallen] = month
    return found
